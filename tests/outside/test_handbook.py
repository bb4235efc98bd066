"""Shapes of the engineer's handbook and the quilter's, from the drawing to the template.

Sources: regular polygons, segments and ellipses by the formulas of Machinery's Handbook (from
memory; numbers recomputed with 30-digit arithmetic); named propositions beside each test. Drawn
in inches, because the trade sells shapes by the inch of edge.
"""

from __future__ import annotations

import cmath
from math import acos, degrees, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from whole import block_of, page, polygon

INCH = 25.4
REGULAR = {  # sides: area, inradius, circumradius, of side 1
    3: (0.4330127019, 0.2886751346, 0.5773502692),
    4: (1.0, 0.5, 0.7071067812),
    5: (1.7204774006, 0.6881909602, 0.8506508084),
    6: (2.5980762114, 0.8660254038, 1.0),
    7: (3.6339124440, 1.0382606983, 1.1523824355),
    8: (4.8284271247, 1.2071067812, 1.3065629649),
    9: (6.1818241938, 1.3737387097, 1.4619022000),
    10: (7.6942088429, 1.5388417686, 1.6180339887),
    12: (11.1961524227, 1.8660254038, 1.9318516526),
    16: (20.10935797, None, None),
    20: (31.56875757, None, None),
}


@pytest.mark.parametrize("sides", REGULAR)
def test_regular_polygons(sides: int, tmp_path) -> None:
    """Area, perimeter, angle, inradius and circumradius of a regular polygon of side 1 in."""
    area, inradius, circumradius = REGULAR[sides]
    centre = 5 + 4j
    outline = [centre + cmath.rect(1 / (2 * sin(pi / sides)), 0.3 + 2 * pi * k / sides) for k in range(sides)]
    (template,) = block_of(tmp_path, page(polygon(outline), "0 0 10 10")).templates
    assert template.area / INCH**2 == pytest.approx(area, rel=1e-9, abs=1e-9)
    assert template.perimeter / INCH == pytest.approx(sides, rel=1e-9)
    assert np.degrees(template.corners) == pytest.approx([180 * (sides - 2) / sides] * sides, abs=1e-7)
    assert template.own_mirror
    if inradius is not None:
        middle = template.outline.points.mean(axis=0)
        corners = np.hypot(*(template.outline.points - middle).T)
        sides_ = (template.outline.points + np.roll(template.outline.points, -1, axis=0)) / 2
        assert corners / INCH == pytest.approx([circumradius] * sides, abs=1e-9)
        assert np.hypot(*(sides_ - middle).T) / INCH == pytest.approx([inradius] * sides, abs=1e-9)


def rhomb(angle: float, side: float = 1.0) -> list[complex]:
    """Return a rhomb."""
    return [0j, side + 0j, side + cmath.rect(side, radians(angle)), cmath.rect(side, radians(angle))]


HALF = sqrt(3) / 2
SHAPES = {  # points, corner angles in degrees, area, perimeter
    "60 diamond": (rhomb(60), (60, 120, 60, 120), 0.8660254038, 4),
    "45 diamond": (rhomb(45), (45, 135, 45, 135), 0.7071067812, 4),
    "72 diamond": (rhomb(72), (72, 108, 72, 108), 0.9510565163, 4),
    "36 diamond": (rhomb(36), (36, 144, 36, 144), 0.5877852523, 4),
    "30 diamond": (rhomb(30), (30, 150, 30, 150), 0.5, 4),
    "half hexagon, corner to corner": (
        [-1 + 0j, 1 + 0j, 0.5 + HALF * 1j, -0.5 + HALF * 1j], (60, 60, 120, 120), 1.2990381057, 5,
    ),
    "half hexagon, flat to flat": (
        [-HALF + 0j, HALF + 0j, HALF + 0.5j, 1j, -HALF + 0.5j], (90, 90, 120, 120, 120),
        1.2990381057, 4.7320508076,
    ),
    "jewel of a hexagon": (
        [1 + 0j, 2 + 0j, 2 + cmath.rect(2, pi / 3) - 0j, cmath.rect(2, pi / 3), cmath.rect(1, pi / 3)],
        (120, 120, 60, 120, 120), 3.0310889132, 7,
    ),
    "kite of a hexagon": (
        [0j, sqrt(3) + 0j, cmath.rect(2, pi / 6), cmath.rect(sqrt(3), pi / 3)], (60, 90, 120, 90),
        1.7320508076, 5.4641016151,
    ),
    "kite of an octagon": (
        [0j, 2.4142135624 + 0j, 2.4142135624 + 1j, cmath.rect(2.4142135624, pi / 4)], (45, 90, 135, 90),
        2.4142135624, 6.8284271247,
    ),
    "3-4-5 triangle (Heron)": ([0j, 4 + 0j, 3j], (90, degrees(acos(0.8)), degrees(acos(0.6))), 6, 12),
    "13-14-15 triangle (Heron)": ([0j, 14 + 0j, 5 + 12j], None, 84, 42),
    "7-8-9 triangle (Heron)": ([0j, 9 + 0j, 11 / 3 + 4 * sqrt(5) * 2 / 3 * 1j], None, 26.8328157300, 24),
    "Pick, concave": ([0j, 4 + 0j, 4 + 4j, 2 + 2j, 4j], (90, 90, 45, 270, 45), 12, 12 + 4 * sqrt(2)),
    "Pick, L": ([0j, 6 + 0j, 6 + 2j, 2 + 2j, 2 + 6j, 6j], (90, 90, 90, 270, 90, 90), 20, 24),
    "Pick, general": ([1 + 0j, 5 + 1j, 6 + 5j, 2 + 6j, 3j], None, 24.5, None),
}  # fmt: skip


@pytest.mark.parametrize("name", SHAPES)
def test_straight_shapes(name: str, tmp_path) -> None:
    """Angles, area and perimeter of the shapes that papers are sold in, and of textbook polygons."""
    points, angles, area, perimeter = SHAPES[name]
    (template,) = block_of(tmp_path, page(polygon([p + 1 + 1j for p in points]), "0 0 16 16")).templates
    assert template.area / INCH**2 == pytest.approx(area, rel=1e-9, abs=1e-9)
    if perimeter is not None:
        assert template.perimeter / INCH == pytest.approx(perimeter, rel=1e-9)
    if angles is not None:
        assert sorted(np.degrees(template.corners)) == pytest.approx(sorted(angles), abs=1e-6)


def vesica(angle: float, chord: float = 1.0) -> str:
    """Return a petal of two arcs of `angle` degrees."""
    r = chord / 2 / sin(radians(angle) / 2)
    return f'<path d="M1 2A{r:.12f} {r:.12f} 0 0 1 {1 + chord:.12f} 2A{r:.12f} {r:.12f} 0 0 1 1 2Z"/>'


def arc(radius: float, x: float, y: float, sweep: int = 1, large: int = 0) -> str:
    """Return one arc command."""
    return f"A{radius:.12f} {radius:.12f} 0 {large} {sweep} {x:.12f} {y:.12f}"


R2 = sqrt(0.5)
# A radius that is too small for its chord stands for a half circle (SVG 2, 9.5.1).
CURVED = {  # drawing, area, perimeter, corner angles
    "petal of 60 degrees": (vesica(60), 0.1811721474, pi / 3 * 2, (60, 60)),
    "petal of 72 degrees": (vesica(72), 0.2211201597, None, (72, 72)),
    "petal of 90 degrees": (vesica(90), 0.2853981634, None, (90, 90)),
    "petal of 120 degrees": (vesica(120), 0.4094565662, None, (120, 120)),
    "vesica of unit circles (Euclid I.1)": (vesica(120, 1.7320508076), 1.2283696986, pi * 4 / 3, (120, 120)),
    "clamshell": (
        f'<path d="M1 2{arc(0.75, 2.5, 2)}{arc(0.75, 1.75, 2.75, 0)}{arc(0.75, 1, 2, 0)}Z"/>',
        1.125, 4.7123889804, (0, 90, 90),
    ),
    "apple core": (
        f'<path d="M1 1{arc(R2, 2, 1, 1)}{arc(R2, 2, 2, 0)}{arc(R2, 1, 2, 1)}{arc(R2, 1, 1, 0)}Z"/>',
        1.0, 4.4428829382, (90, 90, 90, 90),
    ),
    "Reuleaux triangle": (
        f'<path d="M1 2{arc(1, 1.5, 2 - HALF)}{arc(1, 2, 2)}{arc(1, 1, 2)}Z"/>', 0.7047709230, 3.1415926536,
        (120, 120, 120),
    ),
    "lune on a quarter circle (Hippocrates)": (
        f'<path d="M1 0{arc(0.7, 0, 1, 1)}{arc(1, 1, 0, 0)}Z" transform="translate(1 1)"/>',
        0.5, None, (45, 45),
    ),
    "segment of 60 degrees": (f'<path d="M1 1{arc(1, 2, 1)}Z"/>', 0.0905860737, 1 + pi / 3, (30, 30)),
    "segment of 90 degrees": (f'<path d="M1 1{arc(1, 1 + sqrt(2), 1)}Z"/>', 0.2853981634, None, (45, 45)),
    "segment of 120 degrees": (f'<path d="M1 1{arc(1, 1 + sqrt(3), 1)}Z"/>', 0.6141848493, None, (60, 60)),
    "pie of 270 degrees": (
        f'<path d="M2 2H.5{arc(1.5, 2, 0.5, 0, 1)}Z"/>', 3 / 4 * pi * 1.5**2, None, (90, 90, 270),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CURVED)
def test_curved_shapes(name: str, tmp_path) -> None:
    """Area, perimeter and corner angles (between tangents) of shapes of arcs; the lune is exactly 1/2."""
    body, area, perimeter, angles = CURVED[name]
    (template,) = block_of(tmp_path, page(body, "0 0 4 4")).templates
    assert template.area / INCH**2 == pytest.approx(area, rel=1e-9, abs=1e-9)
    if perimeter is not None:
        assert template.perimeter / INCH == pytest.approx(perimeter, rel=1e-9)
    corners = np.degrees(template.corners)
    # An arc over a half circle is two segments; where they join there is no corner.
    found = sorted(corners[np.abs(corners - 180) > 1e-4])
    assert found == pytest.approx(sorted(angles), abs=1e-4)


def test_arbelos(tmp_path) -> None:
    """The shoemaker's knife of radii 1, 2 and 3 (Book of Lemmas, 4): area 2 pi, length 6 pi, 3 cusps."""
    body = f'<path d="M0 4{arc(3, 6, 4)}{arc(2, 2, 4, 0)}{arc(1, 0, 4, 0)}Z"/>'
    (template,) = block_of(tmp_path, page(body, "-1 0 8 5")).templates
    assert template.area / INCH**2 == pytest.approx(6.2831853072, rel=1e-9)
    assert template.perimeter / INCH == pytest.approx(18.8495559215, rel=1e-9)
    assert np.degrees(template.corners) == pytest.approx([0, 0, 0], abs=1e-4)


def test_circle_of_four_beziers(tmp_path) -> None:
    """The usual four Béziers enclose 3.14247233266 r², not pi r²; their largest radius is 1.00027253 r."""
    k = 0.552284749831
    body = f'<path d="M1 0C1 {k} {k} 1 0 1S-1 {k}-1 0-{k}-1 0-1 1-{k} 1 0Z"/>'
    (template,) = block_of(tmp_path, page(body, "-2 -2 4 4")).templates
    assert template.area / INCH**2 == pytest.approx(3.14247233266, rel=1e-4)
    assert template.area / INCH**2 != pytest.approx(pi, rel=1e-4)


def test_parabola_and_cubic(tmp_path) -> None:
    """A parabola's segment is 2/3 of its box (Archimedes); a cubic of length 2 and area 0.6 exactly."""
    (template,) = block_of(tmp_path, page('<path d="M0 0Q1 2 2 0Z"/>', "-1 -1 4 4")).templates
    assert template.area / INCH**2 == pytest.approx(4 / 3, rel=1e-4)
    assert template.perimeter / INCH == pytest.approx(2 + 2.957885715, rel=1e-4)
    (template,) = block_of(tmp_path, page('<path d="M0 0C0 1 1 1 1 0Z"/>', "-1 -1 4 4")).templates
    assert template.area / INCH**2 == pytest.approx(0.6, rel=1e-4)
    assert template.perimeter / INCH == pytest.approx(3, rel=1e-4)


def test_ellipse(tmp_path) -> None:
    """Semi-axes 60 and 30 mm: area 5654.866776, perimeter 290.6534466."""
    body = '<ellipse cx="70" cy="70" rx="60" ry="30" transform="rotate(20 70 70)"/>'
    block = block_of(tmp_path, page(body, "0 0 140 140", 'width="140mm" height="140mm"'))
    (template,) = block.templates
    assert template.area == pytest.approx(5654.866776, rel=1e-4)
    assert template.perimeter == pytest.approx(290.6534466, rel=1e-4)


@pytest.mark.parametrize("blades", [12, 16, 18, 20, 24])
def test_dresden_blades(blades: int, tmp_path) -> None:
    """A blade from 1 in to 6 in along its middle: width 2 d tan(180°/n), area 35 tan(180°/n)."""
    slope = tan(pi / blades)
    outline = [1 + slope * 1j, 1 - slope * 1j, 6 - 6 * slope * 1j, 6 + 6 * slope * 1j]
    (template,) = block_of(tmp_path, page(polygon(outline), "0 -3 7 6")).templates
    assert template.area / INCH**2 == pytest.approx(35 * slope, rel=1e-9)
    if blades == 20:
        assert template.area / INCH**2 == pytest.approx(5.543455411, rel=1e-9)
        edges = np.hypot(*(np.roll(template.outline.points, -1, axis=0) - template.outline.points).T) / INCH
        assert edges.min() == pytest.approx(0.3167688806, abs=1e-9)
        assert np.sort(edges)[1] == pytest.approx(1.900613284, abs=1e-9)
