"""Files that nobody meant: cut, mixed up, with numbers out of this world. They are read, or refused in words."""

# ruff: noqa: E501 - a drawing reads best in one line

import random
import re
import time
from pathlib import Path

import numpy as np
import pytest

from convert.errors import DrawingError
from convert.geometry.measure import area_terms, radius
from convert.reader import read_drawing_bytes

FIXTURES = sorted((Path(__file__).parents[2] / "fixtures").glob("*.svg"))
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
NUMBERS = [
    "0",
    "-1",
    "1e9",
    "1e-9",
    "1e308",
    "-1e308",
    "nan",
    "",
    "9" * 30,
    ".5",
    "50%",
    "1em",
    "auto",
    "none",
    "url(#a)",
    "var(--x)",
    "1e-320",
    "90",
]
PIECES = [
    'transform="scale(0)"', 'transform="matrix(1 0 0 1 1e300 0)"', 'style="transform-box:fill-box;transform-origin:center;transform:rotate(1deg)"',
    'clip-path="url(#c)"', 'mask="url(#m)"', 'display="none"', "<g>", "</g>", '<use href="#a"/>', '<svg viewBox="0 0 1e-300 1">', "</svg>",
    'viewBox="0 0 0 0"', 'width="1e300"', "<style>*{fill:red}</style>", "<switch>", '<clipPath id="c"><circle r="50"/></clipPath>', "<text>", "A1 1 0 0 1 ", "Z", "C",
    'stroke="red"', 'fill="none"', 'font-size="1e300"', 'stroke-width="1e300"', "<!DOCTYPE svg>", "&amp;", "&x;", "<![CDATA[", "\0", "é",
]  # fmt: skip


def mutated(seed):
    """Return a fixture with one to four changes."""
    chance = random.Random(seed)
    text = chance.choice(FIXTURES).read_text("utf-8")
    for _ in range(chance.randint(1, 4)):
        kind = chance.random()
        if kind < 0.5:
            at = chance.choice(list(re.finditer(r"[-+]?\d+\.?\d*", text)))
            text = text[: at.start()] + chance.choice(NUMBERS) + text[at.end() :]
        elif kind < 0.8:
            # Between attributes or elements, mostly, so that the file stays XML.
            at = chance.choice([m.end() for m in re.finditer(r"\s", text)])
            text = text[:at] + chance.choice(PIECES) + " " + text[at:]
        elif kind < 0.9:
            at = chance.randrange(len(text))
            text = text[:at] + text[at + chance.randint(1, 20) :]
        else:
            other = re.findall(r"<[a-z]+[^<>]*/>", chance.choice(FIXTURES).read_text("utf-8"))
            at = chance.choice([m.end() for m in re.finditer(r"<g[^<>]*>|<svg[^<>]*>", text)] or [0])
            text = text[:at] + chance.choice(other or [""]) + text[at:]
    return text


@pytest.mark.parametrize("block", range(10))
def test_mutated_drawings_are_read_or_refused(block):
    """No fault of ours, none over five seconds, and every message is one line."""
    for seed in range(block * 100, block * 100 + 100):
        text = mutated(seed)
        begun = time.perf_counter()
        try:
            drawing = read_drawing_bytes(text.encode(), "mutated.svg")
            lines = [f.line() for f in drawing.findings]
            assert len(drawing.segments) == len(drawing.element_of) > 0, seed
            assert np.abs(drawing.segments.start).max() < 1e7, seed
        except DrawingError as fault:
            lines = [f.line() for f in fault.findings]
        assert time.perf_counter() - begun < 5, seed
        assert all("\n" not in line and line.startswith("mutated.svg") for line in lines), seed


def read(body, head=HEAD):
    """Read an SVG document made of `head` and `body`."""
    return read_drawing_bytes(f"{head}{body}</svg>".encode(), "a.svg")


def test_arcs_of_enormous_radius_are_read():
    """A radius of 1e9 over a chord of 50 is flat to 3e-10, and is drawn so."""
    drawing = read(
        '<path fill="none" stroke="red" d="M10 10A1e9 1e9 0 0 1 60 10"/><path fill="none" stroke="red" d="M10 20A3e4 3e4 0 0 1 60 20"/>'
    )
    flat, nearly = (drawing.segments.take(drawing.element_of == k) for k in (0, 1))

    assert np.ptp(flat.start[:, 1]) < 1e-6
    assert len(nearly) == 1
    assert np.abs(nearly.bulge[0]) < 1e-3
    assert nearly.bulge[0] == 0 or radius(nearly)[0] == pytest.approx(3e4, rel=1e-3)


def test_clips_as_large_as_the_world_clip_nothing():
    """Programs write rectangles of millions of units to clip nothing."""
    clip = '<clipPath id="c"><rect x="-1e12" y="-1e12" width="2e12" height="2e12"/></clipPath>'
    drawing = read(clip + '<circle cx="50" cy="50" r="20" clip-path="url(#c)"/>')

    assert drawing.findings == ()
    assert abs(area_terms(drawing.segments).sum()) == pytest.approx(np.pi * 400)


def test_clips_without_an_area_hide():
    """A clip path of nothing but a line shows nothing, however it is written."""
    for clip in (
        '<path d="M0 0"/>',
        '<path d="M0 0H9"/>',
        '<rect width="0" height="9"/>',
        '<rect width="1e-320" height="1e-320"/>',
    ):
        drawing = read(
            f'<clipPath id="c">{clip}</clipPath><circle id="a" cx="50" cy="50" r="20" clip-path="url(#c)"/><circle id="b" r="9"/>'
        )
        assert [e.id for e in drawing.elements] == ["b"], clip


@pytest.mark.parametrize(
    ("head", "code"),
    [
        ('width="1e308" height="9"', "READ-014"),
        ('width="-1e308" height="9"', "READ-014"),
        ('width="1e308in" height="9"', "READ-014"),
        ('width="calc(1e308px * 10)" height="9"', None),
        ('width="9" height="9" viewBox="0 0 1e308 1e-308"', "READ-018"),
        ('width="9" viewBox="0 0 1e-300 1e300"', "READ-014"),
        ('width="1e300em" height="9"', "READ-014"),
    ],
)
def test_pages_out_of_this_world(head, code):
    """Pages larger than a kilometre, or with proportions beyond reckoning, are refused in words."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {head}>'
    if code is None:
        assert read('<rect width="5" height="5"/>', svg).elements
        return
    with pytest.raises(DrawingError) as caught:
        read('<rect width="5" height="5"/>', svg)
    assert caught.value.findings[0].code == code


def test_tiny_arcs_are_lines():
    """Arcs smaller than rounding don't stop the others."""
    drawing = read(
        '<path d="M1e5 1e5h9v9za1e-9 1e-9 0 0 1 1e-9 1e-9z"/><circle cx="1e5" cy="1e5" r="1e-11"/>'
    )

    assert abs(area_terms(drawing.segments.take(drawing.element_of == 0)).sum()) == pytest.approx(
        40.5, rel=1e-3
    )


def test_coordinates_far_from_the_drawing_are_fitted_as_well_as_can_be():
    """A small curve a kilometre off the page can't be had to a nanometre; what was reached is told."""
    drawing = read('<path d="M3e5 3e5c.001 0 .001 .001 .002 .001z"/>')

    assert drawing.fit_error <= drawing.fit


def test_a_huge_drawing_is_not_fitted_to_a_hair():
    """At 200 m, a fit of 5 micrometres would take ages and be of no use."""
    drawing = read('<path transform="scale(2e3)" d="M50 50C150 0 150 200 50 150z"/>')

    extent = np.ptp(drawing.segments.start, axis=0).max()
    assert 1e-6 * extent < drawing.fit < 2e-6 * extent
