"""The reader as a whole: what is seen, where it is in millimetres, and clear words for bad files."""

import gzip
import math
import time

import numpy as np
import pytest

from convert.errors import DrawingError
from convert.geometry.measure import area_terms, lengths, radius
from convert.reader import read_drawing, read_drawing_bytes

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'


def read(body, head=HEAD, **how):
    """Read an SVG document made of `head` and `body`."""
    return read_drawing_bytes(f"{head}{body}</svg>".encode(), "a.svg", **how)


def ends(drawing):
    """Return the start points of all segments, rounded, as a set."""
    return {tuple(p) for p in np.round(drawing.segments.start, 6).tolist()}


@pytest.mark.parametrize(
    ("head", "mm_per_unit"),
    [
        ('width="150mm" height="150mm" viewBox="0 0 300 300"', 0.5),
        ('width="6in" height="6in" viewBox="0 0 576 576"', 25.4 / 96),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 1.0),
        ('width="400Q" height="400Q" viewBox="0 0 100 100"', 1.0),
        ('width="72pt" height="72pt" viewBox="0 0 72 72"', 25.4 / 72),
        ('width="6pc" height="6pc" viewBox="0 0 96 96"', 25.4 / 96),
        ('width="96px" height="96px"', 25.4 / 96),
        ('viewBox="0 0 96 96"', 25.4 / 96),
    ],
)
def test_one_unit_is_as_long_as_the_page_says(head, mm_per_unit):
    """CSS ratios (CSS Values and Units, absolute lengths) and viewBox scales (SVG 2, 8.6)."""
    drawing = read('<path d="M0 0H10" stroke="red"/>', f'<svg xmlns="http://www.w3.org/2000/svg" {head}>')

    assert lengths(drawing.segments) == pytest.approx([10 * mm_per_unit], rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "corner"),
    [
        ("xMidYMid meet", (50.0, 100.0)),
        ("xMidYMid slice", (0.0, 150.0)),
        ("none", (0.0, 100.0)),
        ("xMaxYMin", (100.0, 100.0)),
    ],
)
def test_aspect_ratio_places_the_view_box(ratio, corner):
    """SVG 2, 8.7: a square viewBox in a page of 200 by 100 mm; y is up from the page's lower edge."""
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 100 100" '
        f'preserveAspectRatio="{ratio}">'
    )

    assert corner in ends(read('<path d="M0 0H10" stroke="red"/>', head))


def test_nested_transforms_multiply_outside_in():
    """translate(10,20) rotate(30) scale(2) takes (1, 0) to (11.7320508076, 21) (SVG 2, 8.5)."""
    body = (
        '<g transform="translate(10,20)"><g transform="rotate(30)">'
        '<path transform="scale(2)" d="M1 0L0 0" stroke="#000"/></g></g>'
    )

    assert read(body).segments.start[0] == pytest.approx((11.7320508076, 79.0), abs=1e-9)


def test_arcs_follow_the_standard_even_when_their_radii_are_too_small():
    """SVG 2, appendix B.2.5: radii 10 for ends 100 apart become 50, a half circle."""
    drawing = read('<path d="M0 50A10 10 0 0 1 100 50" fill="none" stroke="red"/>')

    assert radius(drawing.segments) == pytest.approx(np.full(len(drawing.segments), 50.0))
    assert lengths(drawing.segments).sum() == pytest.approx(50 * math.pi)


@pytest.mark.parametrize(
    ("data", "mm2"),
    [
        ("M50,50 h-37.5 a37.5,37.5 0 1,0 37.5,-37.5 z", 0.75 * math.pi * 37.5**2),
        ("M50 50h-37.5a37.5 37.5 0 1037.5-37.5z", 0.75 * math.pi * 37.5**2),
        ("M68.75,43.75 v-37.5 a37.5,37.5 0 0,0 -37.5,37.5 z", 0.25 * math.pi * 37.5**2),
    ],
)
def test_pie_slices_have_their_area(data, mm2):
    """The specification's pie, at a quarter of its size, with and without separators (SVG 2, Paths)."""
    assert abs(area_terms(read(f'<path d="{data}"/>').segments).sum()) == pytest.approx(mm2, rel=1e-9)


def test_a_circle_under_a_skew_is_the_ellipse_it_is():
    """The area of a circle under skewX(30) stays pi r²: the map's determinant is 1."""
    drawing = read('<circle transform="translate(20 0) skewX(30)" cx="30" cy="30" r="20"/>')

    assert abs(area_terms(drawing.segments).sum()) == pytest.approx(math.pi * 400, rel=1e-5)
    assert drawing.fit_error <= drawing.fit


def test_rounded_rectangles_have_round_corners():
    """40 by 30 with corners of radius 5: the area lacks (4 - pi) 25."""
    drawing = read('<rect x="10" y="10" width="40" height="30" rx="5"/>')

    assert abs(area_terms(drawing.segments).sum()) == pytest.approx(1200 - (4 - math.pi) * 25, rel=1e-9)
    assert len(drawing.segments) == 8


def test_an_open_filled_line_gets_the_edge_that_is_seen():
    """Fill closes an open path; the closing line is marked as the fill's own."""
    drawing = read('<path d="M0 0H10V10" fill="red"/><path d="M0 0H10V10" fill="none" stroke="red"/>')

    assert drawing.implied.tolist() == [False, False, True, False, False]


@pytest.mark.parametrize(
    "hidden",
    [
        '<rect width="9" height="9" display="none"/>',
        '<rect width="9" height="9" style="visibility:hidden"/>',
        '<g opacity="0"><rect width="9" height="9"/></g>',
        '<rect width="9" height="9" fill="none"/>',
        '<rect width="9" height="9" fill-opacity="0%"/>',
        '<style>.gone{display:none !important}</style><rect class="gone" style="display:inline" width="9"/>',
        '<defs><rect width="9" height="9"/></defs>',
        '<symbol><rect width="9" height="9"/></symbol>',
        '<rect width="0" height="9"/>',
        '<rect width="9" height="9" fill="url(#nowhere)"/>',
    ],
)
def test_what_nobody_sees_is_not_drawn(hidden):
    """Each of these leaves only the one visible line."""
    drawing = read(hidden + '<line id="seen" x2="50" y2="50" stroke="black"/>')

    assert [e.id for e in drawing.elements] == ["seen"]


def test_the_cascade_goes_by_importance_specificity_and_order():
    """An id beats a class beats a type beats an attribute; style="" beats them; !important beats all."""
    style = (
        "<style>rect{fill:#000001} .c{fill:#000002} g>#i{fill:#000003}"
        " .late rect{fill:#000004 !important}"
        "* {stroke:none}</style>"
    )
    body = (
        '<rect fill="#00000f" width="9" height="9"/><rect class="c" width="9" height="9"/>'
        '<g><rect id="i" class="c" width="9" height="9"/>'
        '<rect id="j" style="fill:#000005" width="9" height="9"/></g>'
        '<g class="late"><rect style="fill:#000006" width="9" height="9"/></g>'
    )

    fills = [e.fill for e in read(body + style).elements]

    assert fills == ["#000001", "#000002", "#000003", "#000005", "#000004"]


def test_instances_are_drawn_each_with_its_own_name():
    """A `use` of a `use`, mirrored, and a symbol with a viewBox come out where a browser puts them."""
    body = (
        '<defs><path id="p" d="M0 0H10" stroke="red"/><g id="g"><use href="#p" x="5"/></g>'
        '<symbol id="s" viewBox="0 0 10 10"><path d="M0 0H10" stroke="red"/></symbol></defs>'
        '<use id="u" href="#g" y="20" transform="scale(-1,1) translate(-50,0)"/>'
        '<use id="v" href="#s" x="10" y="40" width="20" height="20"/>'
    )

    drawing = read(body)

    assert [e.id for e in drawing.elements] == ["u/use[1]/p", "v/path[2]"]
    assert drawing.segments.start.tolist() == [[45.0, 80.0], [10.0, 60.0]]
    assert drawing.segments.end.tolist() == [[35.0, 80.0], [30.0, 60.0]]


def test_titles_of_shapes_and_of_their_copies():
    """A shape has its own title, a copy its `use`'s; a group's title is a layer's name and no shape's."""
    drawing = read(
        '<g><title>petals</title><path id="a" d="M0 0h9v9z"><title> red  petal </title></path>'
        '<path d="M20 0h9v9z"/><use href="#a" x="40"><title>blue</title></use><use href="#a" x="60"/></g>'
    )
    assert [e.title for e in drawing.elements] == ["red petal", None, "blue", "red petal"]


def test_layers_come_from_titles_labels_and_ids():
    """A group's title is preferred to any editor's label, and that to its id."""
    body = (
        '<g id="one" xmlns:e="urn:some-editor" e:label="two"><title>three</title>'
        '<g xmlns:e="urn:some-editor" e:label="inner" id="x">'
        '<path class="a b" d="M0 0H1" stroke="red"/></g></g>'
    )

    element = read(body).elements[0]

    assert element.layers == ("three", "inner")
    assert element.classes == ("a", "b")


def test_layers_can_be_chosen_and_left_out():
    """`only` and `skip` are patterns over layers, classes and ids."""
    body = (
        '<g id="seams"><path id="a" d="M0 0H1" stroke="red"/></g>'
        '<g id="guides"><path id="b" d="M0 0H1" stroke="red"/></g>'
    )

    assert [e.id for e in read(body, only=["sea*"]).elements] == ["a"]
    assert [e.id for e in read(body, skip=["guides"]).elements] == ["a"]


def test_a_clip_path_cuts_away_what_is_outside():
    """A disc clipped to its left half keeps half its area, bounded by the clip's edge."""
    body = (
        '<clipPath id="c"><rect width="50" height="100"/></clipPath>'
        '<circle clip-path="url(#c)" cx="50" cy="50" r="20"/>'
    )

    drawing = read(body)

    assert abs(area_terms(drawing.segments).sum()) == pytest.approx(0.5 * math.pi * 400, rel=1e-9)
    assert drawing.segments.end[:, 0].max() <= 50.0 + 1e-9


def test_text_is_kept_with_its_place():
    """The middle of a middle-anchored text is its x."""
    text = read('<text x="30" y="40" text-anchor="middle">Wing</text><path d="M0 0H1" stroke="red"/>').texts[
        0
    ]

    assert text.text == "Wing"
    assert text.at[0] == pytest.approx(30.0)


def test_compressed_files_are_read():
    """An .svgz is the same drawing."""
    data = gzip.compress(f'{HEAD}<path d="M0 0H1" stroke="red"/></svg>'.encode())

    assert len(read_drawing_bytes(data, "a.svgz").segments) == 1


def test_a_path_with_an_error_is_drawn_up_to_it_and_reported():
    """SVG 2, 9.5.4: the part before the error is kept; the message names line and character."""
    drawing = read('\n<path id="p" stroke="red" d="M0 0 L10 10 X 5 L20 20"/>')

    assert len(drawing.segments) == 1
    finding = next(f for f in drawing.findings if f.code == "READ-041")
    assert finding.place.line == 2
    assert "character 13" in finding.what


BOMB = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
BAD = {
    "empty": b"",
    "not XML": b"hello",
    "cut short": HEAD.encode(),
    "another root": b"<html/>",
    "no lines": (HEAD + "</svg>").encode(),
    "bomb": (BOMB + HEAD + "<text>&b;</text></svg>").encode(),
    "outside": ('<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + HEAD + "&a;</svg>").encode(),
    "endless use": (HEAD + '<g id="g"><use href="#g"/></g></svg>').encode(),
    "use bomb": (
        HEAD
        + '<path id="i0" d="M0 0H1" stroke="red"/>'
        + "".join(f'<g id="i{k + 1}">' + f'<use href="#i{k}"/>' * 10 + "</g>" for k in range(9))
        + "</svg>"
    ).encode(),
    "deep": (HEAD + "<g>" * 100_000 + "</g>" * 100_000 + "</svg>").encode(),
    "enormous": (HEAD + '<path stroke="red" d="M0 0H1e300"/></svg>').encode(),
    "overflowing scale": (
        HEAD + '<g transform="scale(1e200)"><path stroke="red" d="M0 0H1e200"/></g></svg>'
    ).encode(),
    "no page": b'<svg xmlns="http://www.w3.org/2000/svg" width="0"><path d="M0 0H1" stroke="red"/></svg>',
    "unknown encoding": b'<?xml version="1.0" encoding="klingon"?><svg/>',
}


@pytest.mark.parametrize("name", sorted(BAD))
def test_bad_files_get_one_clear_line_quickly(name):
    """A DrawingError whose first finding names the file, within two seconds."""
    begin = time.perf_counter()
    with pytest.raises(DrawingError) as caught:
        read_drawing_bytes(BAD[name], "bad.svg")

    line = caught.value.findings[0].line()
    assert line.startswith("bad.svg")
    assert "\n" not in line
    assert time.perf_counter() - begin < 2.0


def test_missing_files_and_folders_are_named(tmp_path):
    """Neither is a drawing; each gets its own words."""
    for path, word in ((tmp_path / "none.svg", "no such file"), (tmp_path, "folder")):
        with pytest.raises(DrawingError, match=word):
            read_drawing(path)


def test_a_drawing_made_for_other_rulers_is_doubted():
    """A square of 432 units on a page of 6 in fills 75 %: 72 units to the inch were meant, perhaps."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="6in">'

    drawing = read('<rect width="432" height="432"/>', head)

    assert "152.40" in next(f.what for f in drawing.findings if f.code == "READ-046")
