"""Files that nobody meant, with numbers out of this world: read, or refused in words. See also tests/fuzz."""

# ruff: noqa: E501 - a drawing reads best in one line

import numpy as np
import pytest

from convert.errors import DrawingError
from convert.geometry.measure import area_terms, radius
from convert.reader import read_drawing_bytes

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'


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
