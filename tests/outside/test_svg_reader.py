"""The reader against published figures: CSS ratios, viewBox scales, and the arcs of the SVG standard.

*Sources*: CSS Values and Units 4 (absolute lengths); SVG 2, 8 (coordinate systems), 9.3.8 and appendix B.2
(elliptical arcs); the international inch of 1959. Expected centres and sweeps were worked out by hand from the
formulas, or, for any random arc, are found here from the arc's definition by another way than the reader's.
"""

# ruff: noqa: E501 - a drawing reads best in one line

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from convert.geometry.measure import area_terms, centre, lengths, radius, sweep
from convert.reader import read_drawing_bytes
from convert.reader.outline import ARC
from convert.reader.pathdata import parse_path

NS = 'xmlns="http://www.w3.org/2000/svg"'


def read(body, head='width="1000mm" height="1000mm" viewBox="0 0 1000 1000"'):
    """Read a document."""
    return read_drawing_bytes(f"<svg {NS} {head}>{body}</svg>".encode(), "a.svg")


@pytest.mark.parametrize(
    ("unit", "mm"),
    [
        ("in", 25.4), ("mm", 1.0), ("cm", 10.0), ("Q", 0.25), ("pt", 25.4 / 72), ("pc", 25.4 / 6), ("px", 25.4 / 96), ("", 25.4 / 96),
    ],
)  # fmt: skip
@pytest.mark.parametrize("inside", [False, True])
def test_css_units(unit, mm, inside):
    """1 in = 25.4 mm = 96 px = 72 pt = 6 pc = 101.6 Q, on the page and for lengths in it."""
    if inside:
        drawing = read(f'<rect width="7{unit}" height="1"/>', 'width="50in" height="50in"')
        long = lengths(drawing.segments).max()
    else:
        drawing = read(
            '<path stroke="red" d="M0 0H7"/>', f'width="70{unit}" height="70{unit}" viewBox="0 0 70 70"'
        )
        long = lengths(drawing.segments)[0]

    assert long == pytest.approx(7 * mm, rel=1e-12)


@pytest.mark.parametrize(
    ("head", "scale", "corner"),
    [
        ('width="150mm" height="150mm" viewBox="0 0 300 300"', (0.5, 0.5), (0, 0)),
        ('width="6in" height="6in" viewBox="0 0 576 576"', (25.4 / 96, 25.4 / 96), (0, 0)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100"', (1, 1), (50, 0)),
        (
            'width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMid slice"',
            (2, 2),
            (0, -50),
        ),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="none"', (2, 1), (0, 0)),
    ],
)
def test_view_boxes(head, scale, corner):
    """SVG 2, 8.2 and 8.7: what one unit measures, and where the viewBox's corner comes to lie."""
    drawing = read('<path stroke="red" fill="none" d="M0 0H10V10"/>', head)
    height = drawing.page[1]
    points = drawing.segments.start * [1, -1] + [0, height]

    assert points[0] == pytest.approx(corner, abs=1e-9)
    assert lengths(drawing.segments) == pytest.approx([10 * scale[0], 10 * scale[1]], rel=1e-12)


def test_a_chain_of_transforms():
    """translate(10,20) rotate(30) scale(2) takes (1, 0) to (11.7320508076, 21), and areas grow four times."""
    drawing = read('<path transform="translate(10,20) rotate(30) scale(2)" d="M1 0h5v5h-5z"/>')
    points = drawing.segments.start * [1, -1] + [0, 1000]

    assert points[0] == pytest.approx((11.7320508076, 21.0), abs=1e-9)
    assert abs(area_terms(drawing.segments).sum()) == pytest.approx(100, rel=1e-12)


def test_mirroring_turns_outlines_round():
    """A map of negative determinant changes the sign of an area, and of every bulge."""
    plain = read('<path d="M100 100h50a30 30 0 0 1-50 30z"/>').segments
    mirrored = read(
        '<path transform="translate(500 0) scale(-1 1)" d="M100 100h50a30 30 0 0 1-50 30z"/>'
    ).segments

    assert area_terms(mirrored).sum() == pytest.approx(-area_terms(plain).sum(), rel=1e-12)
    assert np.allclose(np.sort(mirrored.bulge), np.sort(-plain.bulge))


ARCS = [
    ("M0 0 A50 50 0 0 1 100 0", (50, 0), 180, 180),
    ("M100 0 A100 100 0 0 1 0 100", (0, 0), 0, 90),
    ("M100 0 A100 100 0 0 0 0 100", (100, 100), -90, -90),
    ("M100 0 A100 100 0 1 1 0 100", (100, 100), -90, 270),
    ("M100 0 A100 100 0 1 0 0 100", (0, 0), 0, -270),
    ("M0 0 A10 10 0 0 1 100 0", (50, 0), 180, 180),
    ("M10 20 A60 30 30 0 1 90 50", (51.45866818, 57.94355711), -156.1490762, 95.49622398),
    ("M10 20 A60 30 30 1 0 90 50", (51.45866818, 57.94355711), -156.1490762, -264.503776),
    ("M0 0 A80 50 0 0 1 60 40", (-18.80816536, 48.59853439), -76.40236065, 66.49994183),
    ("M300,200 h-150 a150,150 0 1,0 150,-150 z", (300, 200), 180, -270),
    ("M275,175 v-150 a150,150 0 0,0 -150,150 z", (275, 175), -90, -90),
]


@pytest.mark.parametrize(("data", "middle", "start", "turn"), ARCS)
def test_arcs_of_the_standard(data, middle, start, turn):
    """Centre, start angle and sweep by appendix B.2.4 and B.2.5; the last two are the standard's own pie."""
    row = parse_path(data)[0].rows[ARC]
    got = math.degrees(row[10])

    assert row[4:6] == pytest.approx(middle, abs=1e-7)
    assert (got - start + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)
    assert math.degrees(row[11]) == pytest.approx(turn, abs=1e-6)


def test_the_pie_of_the_standard():
    """Three quarters of a circle of radius 150, and the slice beside it, have their areas."""
    big = read('<path d="M300,200 h-150 a150,150 0 1,0 150,-150 z"/>')
    small = read('<path d="M275,175 v-150 a150,150 0 0,0 -150,150 z"/>')

    assert abs(area_terms(big.segments).sum()) == pytest.approx(53014.37603, rel=1e-9)
    assert abs(area_terms(small.segments).sum()) == pytest.approx(17671.45868, rel=1e-9)


def test_circular_arcs_stay_circles():
    """A quarter of radius 100 is 157.0796 long; its circle is kept to rounding under turns and scales."""
    plain = read('<path fill="none" stroke="red" d="M100 0 A100 100 0 0 1 0 100"/>').segments
    moved = read(
        '<g transform="translate(400 100) rotate(33 20 10) scale(-.7 .7)"><path fill="none" stroke="red" d="M-100 200 A100 100 0 0 1 0 300"/></g>'
        '<path stroke="red" d="M0 0H1"/>'
    )
    own = moved.segments.take(moved.element_of == 0)

    assert lengths(plain).sum() == pytest.approx(157.0796327, rel=1e-9)
    assert radius(plain) == pytest.approx(np.full(len(plain), 100.0), rel=1e-12)
    assert radius(own) == pytest.approx(np.full(len(own), 70.0), rel=1e-11)
    assert len(own) == 1


values = st.floats(-400, 400).map(lambda v: round(v, 2))
radii = st.floats(0.5, 500).map(lambda v: round(v, 2))


@given(values, values, values, values, radii, radii, st.floats(-360, 720), st.booleans(), st.booleans())
@settings(max_examples=150, deadline=None)
def test_any_arc_is_the_one_that_its_definition_names(x0, y0, x1, y1, rx, ry, turn, large, way):
    """Both ends on the ellipse of the given (or just large enough) radii and turn, the right side, the right way.

    Worked out with complex numbers: in the frame where the ellipse is a unit circle, its centres are on the
    perpendicular bisector of the two ends, and the flags name one arc of four.
    """
    assume(abs(x0 - x1) + abs(y0 - y1) > 0.1)
    flags = f"{int(large)} {int(way)}"
    row = parse_path(f"M{x0} {y0}A{rx} {ry} {turn!r} {flags} {x1} {y1}")[0].rows[ARC]
    spin = cmath.exp(-1j * math.radians(turn))

    def frame(z: complex) -> complex:
        z = z * spin
        return complex(z.real / rx, z.imag / ry)

    a, b = frame(complex(x0, y0)), frame(complex(x1, y1))
    half = abs(b - a) / 2
    grow = max(1.0, half)
    assume(abs(half - 1) > 1e-6)
    rise = math.sqrt(max(0.0, grow**2 - half**2))
    normal = (b - a) / abs(b - a) * 1j
    found = []
    for side in (1, -1):
        c = (a + b) / 2 + side * rise * normal
        angle = cmath.phase((b - c) / (a - c)) % (2 * math.pi)
        found += [(c, angle), (c, angle - 2 * math.pi)]
    (c, angle), *others = [
        (c, s) for c, s in found if (s > 0) == way and (rise == 0 or (abs(s) > math.pi) == large)
    ]
    assert rise == 0 or not others
    middle = complex(c.real * rx, c.imag * ry) / spin
    assert complex(*row[4:6]) == pytest.approx(middle, abs=1e-6 * (1 + abs(middle)))
    assert row[11] == pytest.approx(angle, abs=1e-6)
    for share, end in ((0, complex(x0, y0)), (1, complex(x1, y1))):
        t = row[10] + share * row[11]
        at = complex(*row[4:6]) + complex(*row[6:8]) * math.cos(t) + complex(*row[8:10]) * math.sin(t)
        assert at == pytest.approx(end, abs=1e-9 * (1 + rx + ry + abs(middle)))


@pytest.mark.parametrize("factor", [1e3, 1e5, 1e6])
def test_flat_arcs_keep_their_sweep(factor):
    """A chord of 1 on a radius of `factor` sweeps 2 asin(1 / (2 r)), to rounding."""
    row = parse_path(f"M0 0A{factor} {factor} 0 0 1 1 0")[0].rows[ARC]

    assert row[11] == pytest.approx(2 * math.asin(0.5 / factor), rel=1e-12)


def test_one_arc_is_one_segment():
    """An arc under a half circle stays one segment, with centre and sweep of the formula, y up."""
    drawing = read(
        '<path fill="none" stroke="red" d="M100 0 A100 100 0 0 1 0 100"/>',
        'width="200mm" height="200mm" viewBox="0 0 200 200"',
    )

    assert centre(drawing.segments)[0] == pytest.approx((0, 200), abs=1e-9)
    assert math.degrees(sweep(drawing.segments)[0]) == pytest.approx(-90, abs=1e-9)
    assert drawing.segments.bulge[0] == pytest.approx(-0.4142135624, abs=1e-10)


@pytest.mark.parametrize(("square", "per_inch", "mm"), [(432, 72, 152.4), (540, 90, 152.4)])
def test_wrong_rulers_are_doubted(square, per_inch, mm):
    """A page of 6 in without a viewBox, drawn at 72 or 90 units per inch: both readings are told."""
    drawing = read(f'<rect width="{square}" height="{square}"/>', 'width="6in" height="6in"')
    finding = next(f for f in drawing.findings if f.code == "READ-046")

    assert f"{per_inch} units per inch" in finding.what
    assert f"{mm:.2f}" in finding.what
    assert f"{square / 96 * 25.4:.2f}" in finding.what
    assert finding.value == pytest.approx(per_inch / 96)
    assert drawing.sized
