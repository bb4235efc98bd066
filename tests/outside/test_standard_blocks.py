"""Blocks that everybody knows, drawn in several ways, against their published measures.

Sources: the tangram and the counts by Euler's formula (traditional; V, E and F counted by hand and
recomputed); the eight-pointed star's 1 : 2 + sqrt(2) rule of printed quilting tables, whose four-digit
values are quoted beside the exact ones; quarter circles in squares by plane geometry. All are patterns
in the public domain.
"""

from __future__ import annotations

import cmath
from math import pi, sqrt

import numpy as np
import pytest
from whole import block_of, page, polygon

INCH = 25.4


def square(x: float, y: float, side: float = 1.0) -> list[complex]:
    """Return a square by its least corner."""
    at = complex(x, y)
    return [at, at + side, at + side + side * 1j, at + side * 1j]


def tangram() -> list[list[complex]]:
    """Return the seven pieces in a square of side 4."""
    return [
        [0j, 4 + 0j, 2 + 2j],
        [0j, 2 + 2j, 4j],
        [4 + 0j, 4 + 2j, 3 + 3j, 3 + 1j],
        [2 + 2j, 3 + 1j, 3 + 3j],
        [2 + 2j, 3 + 3j, 2 + 4j, 1 + 3j],
        [4 + 2j, 4 + 4j, 2 + 4j],
        [2 + 4j, 4j, 1 + 3j],
    ]


def star(side: float = 1.0) -> list[list[complex]]:
    """Return an eight-pointed star of 45-degree diamonds with its corner squares and side triangles."""
    way = [cmath.rect(side, pi * k / 4) for k in range(8)] * 2
    diamonds = [[0j, way[k], way[k] + way[k + 1], way[k + 1]] for k in range(8)]
    squares = [
        [way[k], way[k] + way[k + 1], way[k] + way[k + 1] + way[k - 1], way[k] + way[k - 1]]
        for k in (1, 3, 5, 7)
    ]
    triangles = [[way[k], way[k] + way[k + 1], way[k] + way[k + 7]] for k in (0, 2, 4, 6)]
    return diamonds + squares + triangles


def rosette(rings: int) -> list[list[complex]]:
    """Return 1 + 3 n (n + 1) hexagons of side 1."""
    third = cmath.rect(1, pi / 3)
    return [
        [sqrt(3) * 1j * (a + b * third) + third**k for k in range(6)]
        for a in range(-rings, rings + 1)
        for b in range(-rings, rings + 1)
        if abs(a + b) <= rings
    ]


NINE_PATCH = [square(x, y) for x in range(3) for y in range(3)]
PINWHEEL = [
    [0j, 1 + 1j, 2j], [2j, 1 + 1j, 2 + 2j], [2 + 2j, 1 + 1j, 2 + 0j], [2 + 0j, 1 + 1j, 0j],
]  # fmt: skip
TUMBLING = [[0j, *(cmath.rect(1, pi / 3 * (2 * k + i)) for i in range(3))] for k in range(3)]

COUNTS = {  # pieces, vertices, edges, templates as (count, reversed), largest area first
    "nine patch": (NINE_PATCH, 16, 24, [(9, 0)]),
    "quartered square": (PINWHEEL, 5, 8, [(4, 0)]),
    "tumbling block": (TUMBLING, 7, 9, [(3, 0)]),
    "tangram": (tangram(), 10, 16, [(2, 0), (1, 0), (1, 0), (1, 0), (2, 0)]),
    "eight-pointed star": (star(), 21, 36, [(4, 0), (8, 0), (4, 0)]),
    "rosette of 7": (rosette(1), 24, 30, [(7, 0)]),
    "rosette of 19": (rosette(2), 54, 72, [(19, 0)]),
    "rosette of 37": (rosette(3), 96, 132, [(37, 0)]),
}


def _filled(outlines: list[list[complex]]) -> str:
    return "\n".join(polygon(outline) for outline in outlines)


def _stroked(outlines: list[list[complex]]) -> str:
    return f'<g fill="none" stroke="#000" stroke-width=".01">{_filled(outlines)}</g>'


def _area(outline: list[complex]) -> float:
    pairs = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(sum((a.conjugate() * b).imag for a, b in pairs)) / 2


@pytest.mark.parametrize("stroked", [False, True], ids=["filled", "stroked"])
@pytest.mark.parametrize("name", COUNTS)
def test_counts_by_euler(name: str, stroked, tmp_path) -> None:
    """Vertices, edges, pieces and templates, drawn as fills or as strokes: pieces = E - V + 1."""
    outlines, vertices, edges, counts = COUNTS[name]
    body = _stroked(outlines) if stroked else _filled(outlines)
    block = block_of(tmp_path, page(body, "-8 -8 16 16"))
    assert len(block.pieces) == len(outlines) == edges - vertices + 1
    assert len(block.map.points) == vertices
    assert block.map.edge_count == edges
    found = [(t.count, t.reversed_count) for t in block.templates]
    assert sorted(found) == sorted(counts)
    areas = [t.area for t in block.templates]
    assert areas == pytest.approx(sorted(areas, reverse=True), rel=1e-9)
    drawn = sum(_area(outline) for outline in outlines)
    assert sum(p.area for p in block.pieces) == pytest.approx(drawn * INCH**2, rel=1e-11)


def test_tangram_areas(tmp_path) -> None:
    """In a square of side 4: pieces of 4, 4, 2, 2, 2, 1 and 1 square units; three T-junctions."""
    block = block_of(tmp_path, page(_filled(tangram()), "0 0 4 4"))
    assert sorted(p.area / INCH**2 for p in block.pieces) == pytest.approx([1, 1, 2, 2, 2, 4, 4], rel=1e-11)
    pairs = {round(t.area / INCH**2, 6): len(t.outline) for t in block.templates if t.count == 2}
    assert pairs == {4: 3, 1: 3}
    corners = sum(len(t.outline) * (t.count + t.reversed_count) for t in block.templates)
    assert sum(len(p.outline) for p in block.pieces) - corners == 3


@pytest.mark.parametrize(("size", "printed"), [(6, 1.7574), (12, None), (15, 4.3936), (18, None)])
def test_eight_pointed_star(size: float, printed, tmp_path) -> None:
    """The corner square's side is the size over 2 + sqrt(2); areas at 12 in by the same rule."""
    exact = {6: 1.757359313, 12: 3.514718626, 15: 4.393398282, 18: 5.272077939}[size]
    block = block_of(tmp_path, page(_filled(star(exact)), f"{-size} {-size} {2 * size} {2 * size}"))
    assert block.width / INCH == pytest.approx(size, abs=1e-8)
    assert block.height / INCH == pytest.approx(size, abs=1e-8)
    squares, diamonds, triangles = block.templates
    assert sqrt(squares.area) / INCH == pytest.approx(exact, abs=1e-8)
    if printed:
        assert sqrt(squares.area) / INCH == pytest.approx(printed, abs=3e-4)
    if size == 12:
        assert squares.area / INCH**2 == pytest.approx(12.35324702, rel=1e-8)
        assert diamonds.area / INCH**2 == pytest.approx(8.735064736, rel=1e-8)
        assert triangles.area / INCH**2 == pytest.approx(6.176623509, rel=1e-8)
    assert np.degrees(np.sort(diamonds.corners)) == pytest.approx([45, 45, 135, 135], abs=1e-6)


def test_rosette_extents(tmp_path) -> None:
    """Seven hexagons of 1 in: 18.18653348 square inches, 5 x 5.196152423 in, an outline of 18 edges."""
    block = block_of(tmp_path, page(_filled(rosette(1)), "-4 -4 8 8"))
    assert sorted((block.width / INCH, block.height / INCH)) == pytest.approx([5, 5.196152423], abs=1e-9)
    assert sum(p.area for p in block.pieces) / INCH**2 == pytest.approx(18.18653348, rel=1e-9)
    (outside,) = block.outside
    assert len(outside) == 18


@pytest.mark.parametrize(
    ("ratio", "share"),
    [
        (1 / 2, 0.1963495408),
        (2 / 3, 0.3490658504),
        (0.7, 0.3848451001),
        (3 / 4, 0.4417864669),
        (0.7978845608, 0.5),
    ],
)
def test_quarter_circle_in_a_square(ratio: float, share: float, tmp_path) -> None:
    """The quarter circle of a curved two-piece block has the share pi r^2 / (4 a^2) of its square."""
    side = 7.0
    r = ratio * side
    lines = f'<rect width="{side}" height="{side}"/><path d="M{r} 0A{r} {r} 0 0 1 0 {r}"/>'
    body = f'<g fill="none" stroke="#000">{lines}</g>'
    block = block_of(tmp_path, page(body, "-1 -1 9 9"))
    quarter = min(block.pieces, key=lambda p: len(p.outline))
    assert len(block.pieces) == 2
    assert quarter.area / (side * INCH) ** 2 == pytest.approx(share, rel=1e-9)
    assert sum(p.area for p in block.pieces) == pytest.approx((side * INCH) ** 2, rel=1e-12)


def test_thirteen_piece_hexagon(tmp_path) -> None:
    """A hexagon of 1 in, six jewels and six diamonds of 2 in make a hexagon of 4 in: 41.5692194 sq in."""
    turn = [cmath.rect(1, pi / 3 * k) for k in range(6)] * 2
    hexagon = turn[:6]
    jewels = [
        [turn[k], 2 * turn[k], 2 * (turn[k] + turn[k + 1]), 2 * turn[k + 1], turn[k + 1]] for k in range(6)
    ]
    diamonds = [
        [2 * turn[k], 2 * (turn[k] + turn[k + 1]), 4 * turn[k], 2 * (turn[k] + turn[k + 5])] for k in range(6)
    ]
    block = block_of(tmp_path, page(_filled([hexagon, *jewels, *diamonds]), "-5 -5 10 10"))
    assert [(t.count, t.reversed_count) for t in block.templates] == [(6, 0), (6, 0), (1, 0)]
    areas = [t.area / INCH**2 for t in block.templates]
    assert areas == pytest.approx([3.4641016, 3.0310889132, 2.5980762], rel=1e-7)
    assert sum(p.area for p in block.pieces) / INCH**2 == pytest.approx(41.5692194, rel=1e-9)
    assert sorted((block.width / INCH, block.height / INCH)) == pytest.approx([4 * sqrt(3), 8], abs=1e-9)


def test_snowball(tmp_path) -> None:
    """A regular octagon in a square S leaves corners of 0.2928932188 S; its sides are 0.4142135624 S."""
    size = 9.0
    c = 0.2928932188 * size
    body = (
        f'<path d="M0 0H{size}V{size}H0Z" fill="#eee"/>'
        f'<path d="M0 0H{c}L0 {c}Z" id="corner" fill="#369"/>'
        f'<use href="#corner" transform="translate({size}) rotate(90)"/>'
        f'<use href="#corner" transform="translate({size} {size}) scale(-1)"/>'
        f'<use href="#corner" transform="translate(0 {size}) scale(1 -1)"/>'
    )
    block = block_of(tmp_path, page(body, "0 0 9 9"))
    octagon, corner = block.templates
    assert (octagon.count, corner.count, corner.reversed_count) == (1, 4, 0)
    sides = np.hypot(*(np.roll(octagon.outline.points, -1, axis=0) - octagon.outline.points).T)
    assert sides / INCH / size == pytest.approx([0.4142135624] * 8, abs=1e-9)
    assert octagon.area / INCH**2 == pytest.approx(4.8284271247 * (0.4142135624 * size) ** 2, rel=1e-8)
