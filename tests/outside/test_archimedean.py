"""The eleven tilings by regular polygons with one kind of vertex, against their published facts.

Source: B. Grünbaum and G. C. Shephard, Tilings and Patterns, 1987, chapter 2 (from memory; the
shares were recomputed). Area shares of the eight that mix polygons, to ten digits, are those of a
table recomputed with 30-digit arithmetic.
"""

from __future__ import annotations

import cmath
from collections import Counter
from math import pi, sin, sqrt, tan

import numpy as np
import pytest
from whole import block_of, page, polygon

INCH = 25.4


def regular(n: int, centre: complex = 0j, turn: float = 0.0) -> list[complex]:
    """Return a regular polygon of side 1 whose first edge has its outward normal at `turn`."""
    radius = 1 / (2 * sin(pi / n))
    return [centre + cmath.rect(radius, turn + pi * (2 * k - 1) / n) for k in range(n)]


def beyond(outline: list[complex], edge: int, n: int) -> list[complex]:
    """Return the regular polygon of n sides on the far side of edge `edge`."""
    a, b = outline[edge % len(outline)], outline[(edge + 1) % len(outline)]
    normal = (b - a) * -1j
    return regular(n, (a + b) / 2 + normal / (2 * tan(pi / n)), cmath.phase(-normal))


def turned(length: float, degrees: float) -> complex:
    """Return a vector."""
    return cmath.rect(length, degrees * pi / 180)


def _cell_4_8_8():
    octagon = regular(8)
    return [octagon, beyond(octagon, 1, 4)], 1 + sqrt(2), (1 + sqrt(2)) * 1j


def _cell_3_6_3_6():
    hexagon = regular(6, turn=pi / 6)
    return [hexagon, beyond(hexagon, 0, 3), beyond(hexagon, 1, 3)], 2 + 0j, turned(2, 60)


def _cell_3_4_6_4():
    hexagon = regular(6)
    squares = [beyond(hexagon, k, 4) for k in range(3)]
    triangles = [beyond(square, 1, 3) for square in squares[:2]]
    return [hexagon, *squares, *triangles], 1 + sqrt(3) + 0j, turned(1 + sqrt(3), 60)


def _cell_3_12_12():
    dodecagon = regular(12)
    return [dodecagon, beyond(dodecagon, 1, 3), beyond(dodecagon, 3, 3)], 2 + sqrt(3), turned(2 + sqrt(3), 60)


def _cell_4_6_12():
    dodecagon = regular(12)
    squares = [beyond(dodecagon, k, 4) for k in (0, 2, 4)]
    hexagons = [beyond(dodecagon, k, 6) for k in (1, 3)]
    return [dodecagon, *squares, *hexagons], 3 + sqrt(3) + 0j, turned(3 + sqrt(3), 60)


def _cell_3_3_3_4_4():
    square = regular(4)
    up = beyond(square, 1, 3)
    edge = next(k for k in range(3) if ((up[k] + up[(k + 1) % 3]) / 2 - sum(up) / 3).real > 0.1)
    return [square, up, beyond(up, edge, 3)], 1 + 0j, 0.5 + (1 + sqrt(3) / 2) * 1j


def _cell_3_3_4_3_4():
    square = regular(4)
    triangles = [beyond(square, k, 3) for k in range(4)]
    other = beyond(triangles[0], 1, 4)
    step = sum(other) / 4
    return [square, other, *triangles], step * (1 + 1j), step * (1 - 1j)


def _cell_3_3_3_3_6():
    third = turned(1, 60)
    first, second = 2 + third, (2 + third) * third
    places = [a + b * third for a in range(-6, 7) for b in range(-6, 7)]
    triangles = [[at, at + 1, at + third] for at in places]
    triangles += [[at + 1, at + 1 + third, at + third] for at in places]
    inside = [
        t
        for t in triangles
        if _in_cell(sum(t) / 3, first, second) and not any(_on_lattice(p, first, second) for p in t)
    ]
    assert len(inside) == 8
    return [[third**k for k in range(6)], *inside], first, second


def _coordinates(p: complex, first: complex, second: complex) -> tuple[float, float]:
    matrix = np.array([[first.real, second.real], [first.imag, second.imag]])
    x, y = np.linalg.solve(matrix, [p.real, p.imag])
    return float(x), float(y)


def _on_lattice(p: complex, first: complex, second: complex) -> bool:
    return all(abs(c - round(c)) < 1e-9 for c in _coordinates(p, first, second))


def _in_cell(p: complex, first: complex, second: complex) -> bool:
    return all(-1e-9 <= c < 1 - 1e-9 for c in _coordinates(p, first, second))


def _cell_plain(n: int):
    if n == 4:
        return [regular(4)], 1 + 0j, 1j
    if n == 6:
        return [regular(6)], sqrt(3) + 0j, turned(sqrt(3), 60)
    up = [0j, 1 + 0j, turned(1, 60)]
    return [up, [1 + 0j, 1 + turned(1, 60), turned(1, 60)]], 1 + 0j, turned(1, 60)


TILINGS = {
    "3.3.3.3.3.3": (_cell_plain(3), {3: 1.0}),
    "4.4.4.4": (_cell_plain(4), {4: 1.0}),
    "6.6.6": (_cell_plain(6), {6: 1.0}),
    "4.8.8": (_cell_4_8_8(), {4: 0.1715728753, 8: 0.8284271247}),
    "3.6.3.6": (_cell_3_6_3_6(), {3: 0.25, 6: 0.75}),
    "3.4.6.4": (_cell_3_4_6_4(), {3: 0.1339745962, 4: 0.4641016151, 6: 0.4019237886}),
    "3.12.12": (_cell_3_12_12(), {3: 0.0717967697, 12: 0.9282032303}),
    "4.6.12": (_cell_4_6_12(), {4: 0.1547005384, 6: 0.2679491924, 12: 0.5773502692}),
    "3.3.3.4.4": (_cell_3_3_3_4_4(), {3: 0.4641016151, 4: 0.5358983849}),
    "3.3.4.3.4": (_cell_3_3_4_3_4(), {3: 0.4641016151, 4: 0.5358983849}),
    "3.3.3.3.6": (_cell_3_3_3_3_6(), {3: 0.5714285714, 6: 0.4285714286}),
}


@pytest.mark.parametrize("vertex", TILINGS)
def test_archimedean_tilings(vertex: str, tmp_path) -> None:
    """A patch of nine cells gives one template per kind of polygon, the published shares, and 360 degrees."""
    (cell, first, second), shares = TILINGS[vertex]
    steps = [a * first + b * second for a in range(3) for b in range(3)]
    outlines = [[p + step for p in outline] for outline in cell for step in steps]
    corners = np.array([(p.real, p.imag) for outline in outlines for p in outline])
    x, y = corners.min(axis=0)
    width, height = corners.max(axis=0) - corners.min(axis=0)
    box = f"{x:.9f} {y:.9f} {width:.9f} {height:.9f}"
    block = block_of(tmp_path, page("\n".join(polygon(outline) for outline in outlines), box))

    assert len(block.pieces) == len(outlines)
    kinds = {len(t.outline): t for t in block.templates}
    assert set(kinds) == set(shares)
    assert len(block.templates) == len(shares)
    assert all(t.reversed_count == 0 for t in block.templates)
    assert {n: t.count for n, t in kinds.items()} == Counter(len(outline) for outline in outlines)

    whole = sum(t.area * t.count for t in block.templates)
    for n, share in shares.items():
        assert kinds[n].area * kinds[n].count / whole == pytest.approx(share, abs=2e-10)
        assert kinds[n].area == pytest.approx(n / 4 / tan(pi / n) * INCH**2, rel=1e-9)
    assert sum(kinds[int(n)].corners.mean() for n in vertex.split(".")) == pytest.approx(2 * pi, abs=1e-9)


def test_penrose_rhombs(tmp_path) -> None:
    """Five thick rhombs round a point, five thin ones in their notches: published areas, angles and ratio."""
    units = [turned(1, 72 * k) for k in range(5)]
    outlines = []
    for k in range(5):
        before, here, after = units[k - 1], units[k], units[(k + 1) % 5]
        outlines.append([0j, here, here + after, after])
        outlines.append([here, here + after, here + after + before, here + before])
    block = block_of(tmp_path, page("\n".join(polygon(outline) for outline in outlines), "-3 -3 6 6"))
    thick, thin = block.templates
    assert (thick.count, thin.count) == (5, 5)
    assert thick.area / INCH**2 == pytest.approx(0.9510565163, abs=1e-9)
    assert thin.area / INCH**2 == pytest.approx(0.5877852523, abs=1e-9)
    assert thick.area / thin.area == pytest.approx(1.6180339887, abs=1e-9)
    assert np.degrees(thick.corners.min()) == pytest.approx(72, abs=1e-7)
    assert np.degrees(thin.corners.min()) == pytest.approx(36, abs=1e-7)
