"""What svgelements 1.9.6 gets wrong and the reader must not: found by measuring, one test for each.

svgelements is an independent reader of SVG, and a good one; where both are right they agree (last test).
Each wart is pinned from both sides, so that a change in the library is noticed. Right answers: SVG 2 and CSS.
"""

# ruff: noqa: E501 - a drawing reads best in one line

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import SVG, Path, Shape

from convert.geometry.measure import area_terms, boxes
from convert.reader import read_drawing_bytes
from convert.reader.pathdata import parse_path

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
HEAD = 'width="400" height="400"'
MM = 25.4 / 96
RED = 'fill="red"'


def document(body, head=HEAD):
    """Return an SVG document."""
    return f"<svg {NS} {head}>{body}</svg>"


def ours(body, head=HEAD):
    """Return the boxes (px, y down) of our elements."""
    drawing = read_drawing_bytes(document(body, head).encode(), "a.svg", fit=1e-4)
    found = []
    for k in range(len(drawing.elements)):
        box = boxes(drawing.segments.take(drawing.element_of == k))
        (left, bottom), (right, top) = box[:, :2].min(axis=0), box[:, 2:].max(axis=0)
        height = drawing.page[1]
        found.append(tuple(round(float(v) / MM, 2) for v in (left, height - top, right, height - bottom)))
    return found


def theirs(body, head=HEAD):
    """Return the boxes of svgelements' shapes."""
    svg = SVG.parse(io.StringIO(document(body, head)), reify=True)
    paths = [abs(Path(e)) for e in svg.elements() if isinstance(e, Shape)]
    return [tuple(round(v, 2) for v in p.bbox()) for p in paths if p.bbox() is not None]


def test_the_version_is_the_one_that_was_measured():
    """These tests speak of 1.9.6."""
    assert svgelements.SVGELEMENTS_VERSION == "1.9.6"


WARTS = {
    "descendant selectors": ("<style>g rect{display:none}</style><g><rect width='9' height='9'/></g><rect x='20' width='9' height='9'/>", HEAD, [(20, 0, 29, 9)]),
    "a sheet after the shapes": ("<rect id='a' width='9' height='9'/><rect x='20' width='9' height='9'/><style>#a{display:none}</style>", HEAD, [(20, 0, 29, 9)]),
    "important": ("<style>rect{display:none !important}</style><rect width='9' height='9'/><circle cx='20' cy='20' r='5'/>", HEAD, [(15, 15, 25, 25)]),
    "visibility": ("<g visibility='hidden'><rect width='9' height='9'/></g><circle cx='20' cy='20' r='5'/>", HEAD, [(15, 15, 25, 25)]),
    "symbols that nobody uses": ("<symbol><rect width='9' height='9'/></symbol><circle cx='20' cy='20' r='5'/>", HEAD, [(15, 15, 25, 25)]),
    "masks outside definitions": ("<mask id='m'><rect width='9' height='9'/></mask><circle cx='20' cy='20' r='5'/>", HEAD, [(15, 15, 25, 25)]),
    "switch": ("<switch><rect width='9' height='9'/><circle cx='20' cy='20' r='5'/></switch>", HEAD, [(0, 0, 9, 9)]),
    "size of an instance of a symbol": ("<symbol id='s' viewBox='0 0 10 10'><rect width='10' height='10'/></symbol><use href='#s' width='100' height='100'/>", HEAD, [(0, 0, 100, 100)]),
    "the first of two ids": ("<defs><rect id='t' width='9' height='9'/><circle id='t' r='5'/></defs><use href='#t' x='20'/>", HEAD, [(20, 0, 29, 9)]),
    "x and y of the root": ("<rect width='9' height='9'/>", HEAD + " x='30' y='40'", [(0, 0, 9, 9)]),
    "radius in per cent": ("<circle cx='50' cy='50' r='50%'/>", "width='100' height='50'", [(10.47, 10.47, 89.53, 89.53)]),
    "percentages after a nested drawing": ("<svg width='50' height='50' viewBox='0 0 10 10'/><rect width='50%' height='50%'/>", HEAD, [(0, 0, 200, 200)]),
    "transform-origin": ("<rect width='20' height='20' style='transform:rotate(90deg);transform-origin:50px 50px'/>", HEAD, [(80, 0, 100, 20)]),
    "path data in a style": ("<path d='M0 0h9v9z' style='d:path(\"M20 20h9v9z\")'/>", HEAD, [(20, 20, 29, 29)]),
    "missing sizes": ("<rect width='9'/><rect width='9' height='9'/>", HEAD, [(0, 0, 9, 9)]),
    "sizes that are inherited": ("<g width='50' x='20'><rect width='9' height='9'/></g>", HEAD, [(0, 0, 9, 9)]),
    "quarter millimetres": ("<rect width='40Q' height='9'/>", HEAD, [(0, 0, 37.8, 9)]),
    "millimetres": ("<rect width='25400mm' height='1'/>", "width='400000' height='10'", [(0, 0, 96000, 1)]),
    "x and y of a nested drawing": ("<svg x='30' y='40' width='90' height='90' viewBox='0 0 9 9'><rect width='50%' height='50%'/></svg>", HEAD, [(30, 40, 75, 85)]),
    "percentages in nested drawings": ("<svg width='50%' height='50%'><svg x='50%' width='50%' height='50%'><rect width='50%' height='50%'/></svg></svg>", HEAD, [(100, 0, 150, 50)]),
    "S after Q": ("<path d='M0 50Q50 0 100 50S150 90 200 50z'/>", HEAD, [(0, 25, 200, 67.78)]),
    "T after C": ("<path d='M0 50C0 0 90 0 100 50T200 90z'/>", HEAD, [(0, 12.5, 200, 90)]),
    "points without white space": ("<polygon points='0,0 9.5.5 3 9'/>", HEAD, [(0, 0, 9.5, 9)]),
    "a circle under skew": ("<circle cx='150' cy='150' r='50' transform='skewX(30)'/>", HEAD, [(178.87, 100, 294.34, 200)]),
    "ellipses with one radius": ("<ellipse cx='50' cy='50' rx='20'/>", HEAD, [(30, 30, 70, 70)]),
}  # fmt: skip


@pytest.mark.parametrize("wart", WARTS)
def test_wart(wart):
    """The reader gives what SVG 2 says; svgelements, still, something else."""
    body, head, right = WARTS[wart]

    assert ours(body, head) == [pytest.approx(box, abs=0.02) for box in right]
    try:
        other = theirs(body, head)
    except (ValueError, AttributeError, TypeError, IndexError, RecursionError, ZeroDivisionError):
        return
    assert other != [pytest.approx(box, abs=0.02) for box in right]


def test_errors_in_path_data_are_silent_there():
    """An unknown letter ends a path without a word, even when errors are to be raised."""
    assert len(Path("M0 0 L10 10 X 5 L 20 20")) == 2
    assert parse_path("M0 0 L10 10 X 5 L 20 20")[1].character == 13


def test_sweeps_of_flat_arcs_lose_digits_there():
    """By arc-cosine in degrees the sweep at radius 1e6 has four digits; ours has all."""
    arc = Path("M0 0A1e6 1e6 0 0 1 1 0")[1]
    right = 2 * math.asin(0.5e-6)

    assert abs(arc.sweep - right) / right > 1e-6
    assert parse_path("M0 0A1e6 1e6 0 0 1 1 0")[0].rows[3][11] == pytest.approx(right, rel=1e-12)


def test_entities_are_expanded_there():
    """An internal entity is expanded by the library; here it is refused."""
    text = f"<!DOCTYPE svg [<!ENTITY w '9'>]>{document('<rect width=&quot;1&quot; height=&quot;9&quot;/>')}"
    text = text.replace("&quot;1&quot;", '"&w;"').replace("&quot;", '"')

    assert [abs(Path(e)).bbox() for e in SVG.parse(io.StringIO(text)).elements() if isinstance(e, Shape)]
    with pytest.raises(Exception, match="entity, w"):
        read_drawing_bytes(text.encode(), "a.svg")


numbers = st.floats(-200, 200).map(lambda v: round(v, 2))


@given(
    st.lists(
        st.tuples(st.sampled_from("LlHhVvCcQqAa"), st.lists(numbers, min_size=7, max_size=7)),
        min_size=1,
        max_size=8,
    ),
    st.booleans(),
)
@settings(max_examples=80, deadline=None)
def test_where_both_are_right_they_agree(commands, closed):
    """The same path data has the same end points and the same area by both, to rounding of the arcs."""
    counts = {"L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "A": 7}
    words = ["M10 20h50v70"]
    for letter, v in commands:
        use = v[: counts[letter.upper()]]
        if letter in "Aa":
            use = [
                abs(use[0]) + 1,
                abs(use[0]) + 1,
                0,
                int(use[3] > 0),
                int(use[4] > 0),
                use[5],
                use[6] + 0.5,
            ]
        words.append(letter + " ".join(map(str, use)))
    data = " ".join(words) + ("z" if closed else "")
    svg = document(f'<path d="{data}" {RED} stroke="red"/>')
    drawing = read_drawing_bytes(svg.encode(), "a.svg", fit=1e-3)
    height = drawing.page[1]
    points = [
        p.point(t)
        for p in Path(data)
        if not isinstance(p, (svgelements.Move, svgelements.Close))
        for t in (0.0, 1.0)
    ]
    drawn = np.vstack((drawing.segments.start, drawing.segments.end)) * [1, -1] + [0, height]
    for p in points:
        assert np.hypot(*(drawn / MM - [p.x, p.y]).T).min() < 1e-6, data

    def area() -> float:
        total, before = 0.0, None
        first = None
        for part in Path(data):
            if isinstance(part, svgelements.Move):
                before = first = part.end
                continue
            steps = 1 if isinstance(part, (svgelements.Line, svgelements.Close)) else 400
            for k in range(1, steps + 1):
                p = part.point(k / steps)
                total += (before.x * p.y - p.x * before.y) / 2
                before = p
        return total + (before.x * first.y - first.x * before.y) / 2

    reach = np.ptp(drawn / MM, axis=0).max()
    assert -area_terms(drawing.segments).sum() / MM**2 == pytest.approx(area(), abs=1e-3 * (1 + reach**2))
