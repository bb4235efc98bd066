"""Texts and where their middles are."""

# ruff: noqa: E501 - a drawing reads best in one line

import pytest

from convert.reader import read_drawing_bytes
from convert.reader.text import CAPITAL_EM, LETTER_EM

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100" font-size="10">'


def texts(body, style=""):
    """Return the texts of a document with their places, y down."""
    data = f'{HEAD}<style>{style}</style>{body}<path stroke="red" d="M0 0H9"/></svg>'
    return [(t.text, t.at[0], 100 - t.at[1]) for t in read_drawing_bytes(data.encode(), "a.svg").texts]


HALF = 10 * LETTER_EM / 2
RISE = 10 * CAPITAL_EM / 2


@pytest.mark.parametrize(("anchor", "shift"), [("start", 4 * HALF), ("middle", 0), ("end", -4 * HALF)])
def test_the_anchor_decides_where_the_middle_is(anchor, shift):
    """Four letters of half an em each, and capitals of 0.7 em above the base line."""
    assert texts(f'<text x="50" y="40" text-anchor="{anchor}">Wing</text>') == [
        ("Wing", pytest.approx(50 + shift), pytest.approx(40 - RISE))
    ]
    assert texts('<text x="50" y="40">Wing</text>', f"text{{text-anchor:{anchor}}}")[0][1] == pytest.approx(
        50 + shift
    )


@pytest.mark.parametrize(
    ("baseline", "y"), [("middle", 40), ("central", 40), ("hanging", 40 + RISE), ("auto", 40 - RISE)]
)
def test_the_base_line_decides_how_high(baseline, y):
    """dominant-baseline says which line of the letters y is."""
    assert texts(f'<text x="50" y="40" dominant-baseline="{baseline}">A</text>')[0][2] == pytest.approx(y)


def test_spans_belong_to_their_text():
    """Spans without a place go on in line; one with a place far away begins another text."""
    body = (
        '<text text-anchor="middle" x="50" y="40">A <tspan font-weight="bold">B</tspan> C</text>'
        '<text><tspan x="10" y="20">one</tspan> <tspan x="150" y="90">two</tspan></text>'
    )

    assert [t for t, _, _ in texts(body)] == ["A B C", "one", "two"]


def test_lines_of_a_label_are_one_text():
    """Lines under each other, placed by y or by dy, are read together, and their middle is the label's."""
    for second in ('x="50" y="52"', 'x="50" dy="12"'):
        found = texts(f'<text x="50" y="40" text-anchor="middle">dark<tspan {second}>blue</tspan></text>')
        assert found == [("dark blue", pytest.approx(50), pytest.approx(46 - RISE))]


def test_transforms_and_fonts_move_the_middle():
    """The text's own matrix and font size count."""
    found = texts(
        '<text transform="translate(10 5) scale(2)" x="20" y="10" text-anchor="middle" font-size="5">B</text>'
    )

    assert found == [("B", pytest.approx(50), pytest.approx(25 - 5 * CAPITAL_EM))]


def test_hidden_texts_are_none():
    """What isn't seen names nothing."""
    body = (
        '<text display="none">a</text><text visibility="hidden">b</text><text fill="none">c</text><text opacity="0">d</text>'
        '<g opacity="0"><text>e</text></g><text>f<tspan display="none">g</tspan></text><defs><text>h</text></defs><text> </text>'
    )

    assert [t for t, _, _ in texts(body)] == ["f"]


def test_instances_of_text_and_names():
    """A text in an instance is named by the chain of ids."""
    data = f'{HEAD}<g id="g"><text id="t" x="5" y="5">A</text></g><use id="u" href="#g" x="50"/><path stroke="red" d="M0 0H9"/></svg>'
    drawing = read_drawing_bytes(data.encode(), "a.svg")

    assert [t.element for t in drawing.texts] == ["t", "u/t"]
    assert drawing.texts[1].at[0] - drawing.texts[0].at[0] == pytest.approx(50)


def test_lengths_of_text_places_have_units():
    """Places in mm, per cent and em."""
    assert texts('<text x="50%" y="2em" text-anchor="middle" dominant-baseline="middle">A</text>')[0][1:] == (
        pytest.approx(100),
        pytest.approx(20),
    )


def test_text_on_a_path_is_told():
    """Where it stands is not known, so it names nothing, and that is said."""
    data = (
        f'{HEAD}<text><textPath href="#p">round</textPath></text><path id="p" stroke="red" d="M0 0H9"/></svg>'
    )
    drawing = read_drawing_bytes(data.encode(), "a.svg")

    assert drawing.texts == ()
    assert [f.code for f in drawing.findings] == ["READ-056"]
