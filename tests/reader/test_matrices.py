"""Transforms: lists, nesting and the maps they make."""

# ruff: noqa: E501 - a drawing reads best in one line

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.reader import read_drawing_bytes
from convert.reader.lengths import Length, Viewport
from convert.reader.matrices import IDENTITY, multiply, parse_attribute, parse_origin, parse_style

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1000mm" viewBox="-500 -500 1000 1000">'


def table(m):
    """Return a matrix as numpy has it."""
    a, b, c, d, e, f = m
    return np.array([[a, c, e], [b, d, f], [0, 0, 1]])


small = st.floats(-3, 3).map(lambda v: round(v, 3))
FUNCTIONS = {
    "translate": (2, lambda x, y: [[1, 0, x], [0, 1, y], [0, 0, 1]]),
    "scale": (2, lambda x, y: [[x, 0, 0], [0, y, 0], [0, 0, 1]]),
    "rotate": (
        3,
        lambda a, x, y: np.array([[1, 0, x], [0, 1, y], [0, 0, 1]])
        @ [[math.cos(math.radians(a)), -math.sin(math.radians(a)), 0], [math.sin(math.radians(a)), math.cos(math.radians(a)), 0], [0, 0, 1]]
        @ [[1, 0, -x], [0, 1, -y], [0, 0, 1]],
    ),
    "skewX": (1, lambda a: [[1, math.tan(math.radians(a)), 0], [0, 1, 0], [0, 0, 1]]),
    "skewY": (1, lambda a: [[1, 0, 0], [math.tan(math.radians(a)), 1, 0], [0, 0, 1]]),
    "matrix": (6, lambda a, b, c, d, e, f: [[a, c, e], [b, d, f], [0, 0, 1]]),
}  # fmt: skip
function = st.sampled_from(sorted(FUNCTIONS)).flatmap(
    lambda name: st.tuples(
        st.just(name), st.lists(small, min_size=FUNCTIONS[name][0], max_size=FUNCTIONS[name][0])
    )
)


@given(st.lists(st.lists(function, min_size=1, max_size=3), min_size=1, max_size=5), small, small)
@settings(max_examples=60, deadline=None)
def test_nested_transforms_are_products_of_matrices(nested, x, y):
    """Any lists on any nesting put a point where the matrices of SVG 2, 8.5, multiplied out, put it."""
    want = np.eye(3)
    for functions in nested:
        for name, values in functions:
            want = want @ np.array(FUNCTIONS[name][1](*values), float)
    lists = [" ".join(f"{n}({','.join(map(repr, v))})" for n, v in functions) for functions in nested]
    body = f'<path stroke="red" d="M{x!r} {y!r}l1 0"/><path stroke="red" d="M400 400h1"/>'
    for text in reversed(lists):
        body = f'<g transform="{text}">{body}</g>'
    marker = '<path id="far" stroke="red" d="M-400 -400h1"/>'
    reach = np.abs(want).max() * 500
    if reach > 1e5:
        return
    drawing = read_drawing_bytes(f"{HEAD}{body}{marker}</svg>".encode(), "a.svg")
    got = drawing.segments.start[drawing.element_of == 0]
    if abs(np.linalg.det(want)) == 0 or not len(got) or drawing.elements[0].id == "far":
        return

    wx, wy, _ = want @ [x, y, 1]
    assert got[0] == pytest.approx([wx + 500, 500 - wy], abs=1e-9 * (1000 + reach))


def test_products_do_the_inner_map_first():
    """multiply(outer, inner) is the matrix product."""
    one, two = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0), (7.0, 8.0, 9.0, 10.0, 11.0, 12.0)

    assert np.array_equal(table(multiply(one, two)), table(one) @ table(two))


def test_quarter_turns_are_exact():
    """Turns by right angles have no rounding in them, in either grammar."""
    for turns, x, y in ((1, 0.0, 1.0), (2, -1.0, 0.0), (3, 0.0, -1.0), (-1, 0.0, -1.0), (4, 1.0, 0.0)):
        assert parse_attribute(f"rotate({90 * turns})") == (x, y, -y, x, 0.0, 0.0)
        assert parse_style(f"rotate({90 * turns}deg)", Viewport(1, 1), 16, (0, 0)) == (x, y, -y, x, 0.0, 0.0)


@pytest.mark.parametrize(
    "text",
    [
        "rotate()",
        "rotate(1 2)",
        "scale(1,)",
        "foo(1)",
        "translate(1) x",
        "matrix(1 2 3)",
        "translate(1px)",
        "(1)",
        "translate(1e999)",
    ],
)
def test_wrong_attributes_are_none(text):
    """One wrong function makes the whole list wrong (CSS Transforms 1, syntax of the attribute)."""
    assert parse_attribute(text) is None
    assert parse_attribute("translate(1) " + text) is None


def test_no_transform_is_the_identity():
    """Nothing and the word none change nothing."""
    assert parse_attribute("") == parse_attribute(" none ") == IDENTITY


def test_percentages_of_a_style_transform_refer_to_the_box():
    """CSS Transforms 1: per cent of the reference box's width and height; em of the font size."""
    got = parse_style("translate(50%, calc(1em + 10%))", Viewport(9, 9), 20.0, (30.0, 40.0))

    assert got == (1, 0, 0, 1, 15, 24)


def test_origins_in_words():
    """Words may stand in either order; one value leaves the other at 50 %."""
    middle, left = Length(0.0, share=0.5), Length(0.0, share=0.0)

    assert parse_origin("top left") == parse_origin("left top") == (left, left)
    assert parse_origin("left") == (left, middle)
    assert parse_origin("bottom") == (middle, Length(0.0, share=1.0))
    assert parse_origin("10px 2em") == (Length(10.0), Length(0.0, em=2.0))
    assert parse_origin("left left") is None
    assert parse_origin("nowhere") is None


def test_a_transform_that_is_wrong_is_told():
    """It is left out, as browsers do, with the element's name and its text."""
    drawing = read_drawing_bytes(
        f'{HEAD}<rect id="r" width="9" height="9" transform="turn(5)"/></svg>'.encode(), "a.svg"
    )

    (finding,) = drawing.findings
    assert finding.code == "READ-035"
    assert "turn(5)" in finding.line()
    assert "(r)" in finding.line()
