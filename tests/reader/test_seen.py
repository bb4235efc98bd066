"""Clips, masks and filters: what is left to be seen."""

# ruff: noqa: E501 - a drawing reads best in one line

import math

import numpy as np
import pytest

from convert.errors import DrawingError, Severity
from convert.geometry.measure import area_terms
from convert.reader import read_drawing_bytes

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
BOX = '<rect id="b" x="10" y="10" width="40" height="40" {}/>'


def read(body, head=HEAD, **how):
    """Read an SVG document made of `head` and `body`."""
    return read_drawing_bytes(f"{head}{body}</svg>".encode(), "a.svg", **how)


def area(drawing):
    """Return the area that all fills wind round."""
    return abs(float(area_terms(drawing.segments).sum()))


def codes(drawing):
    """Return the codes of all findings."""
    return [f.code for f in drawing.findings]


MASKED = BOX.format('mask="url(#m)"')
_ALL = '<rect width="99" height="99" fill="white"/>'
MASKS = {
    "white": ('<rect x="20" y="20" width="20" height="20" fill="white"/>', 400.0),
    "white in a group": ('<g fill="#fff"><rect x="20" y="20" width="20" height="20"/></g>', 400.0),
    "black": ('<rect x="20" y="20" width="20" height="20"/>', None),
    "empty": ("", None),
    "white but clear": ('<rect x="20" y="20" width="20" height="20" fill="white" opacity="0"/>', None),
    "black on white": (f'{_ALL}<rect x="20" y="20" width="20" height="20"/>', 1200.0),
    "white on black on white": (f'{_ALL}<rect x="20" y="20" width="20" height="20"/><path fill="#fff" d="M25 25h10v10h-10z"/>', 1300.0),
    "white on black": (f'<rect width="99" height="99"/><g fill="white">{BOX.format("")}</g>', 1600.0),
    "two that overlap": ('<g fill="white"><rect x="20" y="20" width="20" height="20"/><rect x="30" y="30" width="20" height="20"/></g>', 700.0),
    "the same twice": (f'{_ALL}{_ALL}', 1600.0),
    "clear black on white": (f'{_ALL}<rect x="20" y="20" width="20" height="20" opacity="0"/>', 1600.0),
    "clipped white": (f'<clipPath id="c"><path d="M0 0H30V99H0z"/></clipPath><g clip-path="url(#c)">{_ALL}</g>', 800.0),
    "white in a dark group": (f'<g opacity="0">{_ALL}</g>', None),
}  # fmt: skip

ALPHAS = {
    "any colour": ('<rect x="20" y="20" width="20" height="20"/>', 400.0),
    "no fill": ('<rect x="20" y="20" width="20" height="20" fill="none"/>', None),
    "half": ('<rect x="20" y="20" width="20" height="20" fill-opacity=".5"/>', 1600.0),
}  # fmt: skip

UNCLEAR = {
    "grey": '<rect width="50" height="50" fill="#888"/>',
    "half transparent": '<rect width="50" height="50" fill="white" opacity=".5"/>',
    "half a group": '<g opacity=".5"><rect width="50" height="50" fill="white"/></g>',
    "black glass on white": f'{_ALL}<rect width="30" height="30" opacity=".5"/>',
    "gradient": '<linearGradient id="g"><stop/></linearGradient><rect width="50" height="50" fill="url(#g)"/>',
    "stroke": '<rect width="50" height="50" fill="white" stroke="black"/>',
    "line": '<path d="M0 0H50" stroke="white" stroke-width="20"/>',
    "picture": '<image width="50" height="50"/>',
    "text": '<text x="9" y="9" fill="white">A</text>',
    "blur": f'<filter id="f"><feGaussianBlur/></filter><g filter="url(#f)">{_ALL}</g>',
    "mask": f'<mask id="n"><rect width="9" height="9"/></mask><g mask="url(#n)">{_ALL}</g>',
}  # fmt: skip


@pytest.mark.parametrize("kind", MASKS)
def test_plain_masks_cut(kind):
    """CSS Masking 1: white lets through, black and nothing don't."""
    content, left = MASKS[kind]
    body = f'<mask id="m">{content}</mask>' + BOX.format('mask="url(#m)"')
    body += '<rect id="other" x="60" width="10" height="10"/>'
    drawing = read(body)

    assert [e.id for e in drawing.elements] == (["b", "other"] if left else ["other"])
    assert area(drawing) == pytest.approx((left or 0.0) + 100.0)
    expected = "READ-047" if left else "READ-043"
    assert codes(drawing) == ([] if left == 1600 else [expected])


@pytest.mark.parametrize("kind", ALPHAS)
def test_masks_by_alpha(kind):
    """With mask-type: alpha, what is painted lets through, in whatever colour."""
    content, left = ALPHAS[kind]
    body = f'<mask id="m" mask-type="alpha">{content}</mask>' + BOX.format('mask="url(#m)"')
    drawing = read(body + '<rect id="other" x="60" width="10" height="10"/>')

    assert area(drawing) == pytest.approx((left or 0.0) + 100.0)
    assert ("READ-037" in codes(drawing)) == (kind == "half")


@pytest.mark.parametrize(
    ("how", "left"),
    [
        ('maskUnits="userSpaceOnUse" x="0" y="0" width="20" height="99"', 400),
        ('x="50%" width=".25"', 400),
        ('maskUnits="userSpaceOnUse" width="0"', None),
        ('maskContentUnits="objectBoundingBox"', 1600),
    ],
)
def test_masks_have_a_box(how, left):
    """Outside of it nothing is seen. By default it reaches a tenth beyond the element."""
    drawing = read(f'<mask id="m" {how}>{_ALL}</mask>{MASKED}<rect x="60" width="10" height="10"/>')

    assert area(drawing) == pytest.approx((left or 0) + 100)


@pytest.mark.parametrize("kind", UNCLEAR)
def test_shaded_masks_are_told(kind):
    """A mask that lets a part of the light through is not followed, and says so."""
    drawing = read(f'<mask id="m">{UNCLEAR[kind]}</mask>' + BOX.format('mask="url(#m)"'))

    assert area(drawing) == pytest.approx(1600)
    (finding,) = drawing.findings
    assert (finding.code, finding.severity, finding.place.element) == ("READ-037", Severity.WARNING, "b")


def test_overlapping_parts_of_a_clip_are_one():
    """Two squares of 400 that share a corner of 100 let 700 be seen, and a clip may limit each of them."""
    parts = '<rect x="20" y="20" width="20" height="20" {}/><rect x="30" y="30" width="20" height="20"/>'
    half = '<clipPath id="h"><path d="M0 0H25V99H0z"/></clipPath>'
    for limit, left in (("", 700), ('clip-path="url(#h)"', 500), ('clip-path="url(#c)"', 700)):
        clip = f'{half}<clipPath id="c">{parts.format(limit)}</clipPath>'
        assert area(read(clip + BOX.format('clip-path="url(#c)"'))) == pytest.approx(left)


def test_lines_along_what_a_mask_takes_away_are_not_seen():
    """A line on the rim of a black part that lies where nothing is let through anyway."""
    mask = '<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="99" height="99"><path fill="#fff" d="M0 0H40V99H0z"/><rect x="60" y="10" width="20" height="20"/></mask>'
    drawing = read(f'{mask}<path id="p" stroke="red" fill="none" d="M10 10H90" mask="url(#m)"/>')

    assert drawing.segments.end[:, 0].max() == pytest.approx(40)


SEE_THROUGH = {
    "opaque": ('fill="red"', True, []),
    "half": ('fill="red" fill-opacity=".5"', False, []),
    "blended": ('fill="red" style="mix-blend-mode:multiply"', False, ["READ-061"]),
    "blended as an attribute, which is none": ('fill="red" mix-blend-mode="multiply"', True, []),
    "gradient": ('fill="url(#full)"', True, ["READ-055"]),
    "gradient that fades": ('fill="url(#fades)"', False, ["READ-055"]),
    "gradient by another's stops": ('fill="url(#of)"', False, ["READ-055"]),
    "pattern": ('fill="url(#cloth)"', True, ["READ-055"]),
}


@pytest.mark.parametrize("kind", SEE_THROUGH)
def test_fills_that_hide_and_fills_that_do_not(kind):
    """Gradients and patterns are one fabric each and solid, unless they fade; what is blended hides nothing."""
    how, hides, told = SEE_THROUGH[kind]
    servers = (
        '<linearGradient id="full"><stop/><stop offset="1" stop-color="red"/></linearGradient><linearGradient id="of" href="#fades"/>'
        '<radialGradient id="fades"><stop/><stop offset="1" stop-color="red" stop-opacity="0"/></radialGradient>'
        '<pattern id="cloth" width="9" height="9"><image width="9" height="9"/></pattern>'
    )
    drawing = read(servers + BOX.format(how))

    assert drawing.elements[0].hides == hides
    assert codes(drawing) == told


def test_a_group_blends_all_that_is_in_it():
    """And an instance takes its own paint for what its original calls the context's."""
    drawing = read(
        f'<g style="mix-blend-mode:darken"><g>{BOX.format("")}</g></g><defs><rect id="k" width="9" height="9" fill="context-stroke"/></defs>'
        '<use href="#k" x="70" stroke="#123456" fill="red"/><use id="none" href="#k" x="80"/>'
    )

    assert [(e.blends, e.fill) for e in drawing.elements] == [(True, "#000000"), (False, "#123456")]


def test_missing_masks_and_clips_do_nothing():
    """A reference to nothing is no reference."""
    drawing = read(BOX.format('mask="url(#none)" clip-path="url(#none)" filter="url(#none)"'))

    assert area(drawing) == pytest.approx(1600)


def test_filters_are_told_and_empty_ones_hide():
    """A blur is left out; a filter without any effect in it draws nothing (Filter Effects 1)."""
    blur = '<filter id="f"><feGaussianBlur stdDeviation="2"/></filter>'

    assert codes(read(blur + BOX.format('filter="url(#f)"'))) == ["READ-037"]
    with pytest.raises(DrawingError, match="1 hidden"):
        read('<filter id="f"/>' + BOX.format('filter="url(#f)"'))


def test_a_clip_that_holds_all_is_quiet():
    """A shape inside its clip, touching it even, is left as it is, without a remark."""
    clip = '<clipPath id="c"><rect x="10" y="10" width="40" height="60"/></clipPath>'
    drawing = read(clip + BOX.format('clip-path="url(#c)"'))

    assert len(drawing.segments) == 4
    assert drawing.findings == ()


def test_clipped_strokes_end_at_the_clip_and_fills_get_its_edge():
    """The clip's edge bounds the fill, and is never stroked: it is implied."""
    clip = '<clipPath id="c"><rect x="30" width="70" height="100"/></clipPath>'
    drawing = read(clip + BOX.format('clip-path="url(#c)" stroke="red"'))

    assert area(drawing) == pytest.approx(20 * 40)
    (edge,) = np.flatnonzero(drawing.implied)
    assert drawing.segments.start[edge, 0] == drawing.segments.end[edge, 0] == pytest.approx(30)
    stroked = read(clip + BOX.format('clip-path="url(#c)" stroke="red" fill="none"'))
    assert not stroked.implied.any()
    assert len(stroked.segments) == 3


def test_circles_clip_circles_exactly():
    """The lens of two circles of radius 20, 20 apart: 2 r² (pi/3 - sqrt(3)/4) (circular segments, any handbook)."""
    clip = '<clipPath id="c"><circle cx="60" cy="50" r="20"/></clipPath>'
    drawing = read(clip + '<circle cx="40" cy="50" r="20" clip-path="url(#c)"/>')

    assert area(drawing) == pytest.approx(2 * 400 * (math.pi / 3 - math.sqrt(3) / 4), rel=1e-9)


@pytest.mark.parametrize(
    ("shape", "left"),
    [
        ("circle(10px)", math.pi * 100),
        ("inset(5px 10px)", 600),
        ("polygon(0 0, 100% 0, 0 100%)", 800),
        ("circle(50px at 0 0) view-box", None),
    ],
)
def test_basic_shapes_of_css_clip(shape, left):
    """CSS Shapes 1: a circle, an inset box, a triangle, each cut out of a square of 40."""
    drawing = read(BOX.format(f'style="clip-path:{shape}"'))

    if "view-box" in shape:
        # A quarter disc over the square from 10 to 50: by the trapezoid rule.
        x = np.linspace(10, math.sqrt(2500 - 100), 20001)
        left = np.trapezoid(np.sqrt(2500 - x**2) - 10, x)
    assert area(drawing) == pytest.approx(left, rel=1e-6)
    assert codes(drawing) == ["READ-047"]


@pytest.mark.parametrize(
    "shape", ["url(other.svg#c)", "circle(5px) nowhere-box", "inset(1px round 1px / 2px)"]
)
def test_clips_that_are_not_followed_are_told(shape):
    """What is not followed says so and leaves the shape whole."""
    drawing = read(BOX.format(f'clip-path="{shape}"'))

    assert area(drawing) == pytest.approx(1600)
    assert codes(drawing) == ["READ-038"]


def test_ten_thousand_shapes_in_one_viewport_are_quick():
    """A nested drawing that hides nothing costs nothing for each shape in it."""
    body = "".join(f'<rect x="{i % 100}" y="{i // 100}" width="1" height="1"/>' for i in range(10_000))
    drawing = read(f'<svg width="100" height="100">{body}</svg>')

    assert len(drawing.elements) == 10_000
    assert area(drawing) == pytest.approx(10_000)


def test_a_curve_drawn_twice_is_the_same_arcs():
    """The same Bézier drawn forward and backward, filled and stroked, gives the very same segments, reversed."""
    drawing = read(
        '<path fill="none" stroke="red" d="M10 10C20 60 60 20 90 90"/><path fill="none" stroke="blue" d="M90 90C60 20 20 60 10 10"/>'
    )
    one, two = (drawing.segments.take(drawing.element_of == k) for k in (0, 1))

    assert len(one) > 2
    assert np.array_equal(one.start, two.end[::-1])
    assert np.array_equal(one.end, two.start[::-1])
    assert np.array_equal(one.bulge, -two.bulge[::-1])


def test_subpaths_are_contiguous_and_head_to_tail():
    """In every subpath each segment starts exactly where the one before ended, whatever the kinds."""
    drawing = read(
        '<g transform="rotate(17) skewX(10)"><path d="M10 10h9c5 5 5 5 9 0q5-5 9 2a9 7 20 0 1 9 9t3 9z m30 0a5 5 0 0 0 9 9l3 3"/>'
        '<ellipse cx="40" cy="40" rx="10" ry="7"/><rect x="50" width="20" height="10" rx="3"/></g>'
    )
    s, sub = drawing.segments, drawing.subpath_of

    assert (np.diff(sub) >= 0).all()
    same = sub[1:] == sub[:-1]
    assert np.array_equal(s.start[1:][same], s.end[:-1][same])
    for k in np.unique(sub):
        rows = np.flatnonzero(sub == k)
        assert np.array_equal(s.start[rows[0]], s.end[rows[-1]])
    assert drawing.fit_error <= drawing.fit
