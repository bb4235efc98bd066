"""Shapes and blocks to lay on sheets, and an independent look at layouts (by shapely, on fine chords)."""

from math import asin, cos, pi, radians, sin, sqrt, tan

import numpy as np
import shapely

from convert.cutting.nest import Item
from convert.geometry.chain import Chain
from convert.geometry.edit import flatten
from convert.geometry.similarity import Similarity

INCH = 25.4


def polygon(points):
    """Return a polygon as an outline."""
    return Chain(np.array(points, dtype=np.float64), np.zeros(len(points)))


def regular(corners, side):
    """Return a regular polygon about the origin."""
    r = side / (2.0 * sin(pi / corners))
    return polygon([(r * cos(2 * pi * k / corners), r * sin(2 * pi * k / corners)) for k in range(corners)])


def rhomb(side, degrees):
    """Return a rhomb with a corner of so many degrees at the origin, one side along x."""
    c, s = side * cos(radians(degrees)), side * sin(radians(degrees))
    return polygon([(0, 0), (side, 0), (side + c, s), (c, s)])


def lens(length=60.0, width=24.0):
    """Return a petal of two arcs."""
    r = (length**2 + width**2) / (4.0 * width)
    bulge = tan(asin(length / (2.0 * r)) / 2.0)
    return Chain(np.array([(0.0, 0.0), (length, 0.0)]), np.array([bulge, bulge]))


def bean():
    """Return a shape with an arc that bows inward."""
    points = np.array([(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0)])
    return Chain(points, np.array([0.0, 0.3, -0.45, 0.3]))


SHAPES = {
    "hexagon": regular(6, INCH),
    "triangle": regular(3, 2 * INCH),
    "square": polygon([(0, 0), (38.1, 0), (38.1, 38.1), (0, 38.1)]),
    "rhomb 60": rhomb(2 * INCH, 60),
    "rhomb 30": rhomb(2 * INCH, 30),
    "kite": polygon([(0, 0), (40, -14), (52, 0), (40, 14)]),
    "quadrilateral": polygon([(0, 0), (41, 3), (47, 33), (9, 38)]),
    "jewel": polygon([(0, 0), (25, -14), (45, -14), (60, 0), (45, 14), (25, 14)]),
    "corner": polygon([(0, 0), (40, 0), (40, 15), (15, 15), (15, 40), (0, 40)]),
    "lens": lens(),
    "bean": bean(),
}


def rosette(side=INCH):
    """Return seven hexagons, one in the middle: the items, and their places as drawn."""
    places = [(0, Similarity())]
    for k in range(6):
        angle = pi / 6 + k * pi / 3
        places.append((0, Similarity.shift(side * sqrt(3) * cos(angle), side * sqrt(3) * sin(angle))))
    return [Item(regular(6, side), 7)], places


def square_in_a_square(half=2.0 * INCH):
    """Return a square that stands on its tip and the four triangles about it, and their places as drawn."""
    side = half * sqrt(2.0)
    square = polygon([(0, 0), (side, 0), (side, side), (0, side)])
    corners = [(0.0, 0.0), (2.0 * half, 0.0), (2.0 * half, 2.0 * half), (0.0, 2.0 * half)]
    places = [(0, Similarity.shift(half, 0.0).after(Similarity.turn(pi / 4.0)))]
    for quarter, corner in enumerate(corners):
        places.append((1, Similarity.shift(*corner).after(Similarity.turn(quarter * pi / 2.0))))
    return [Item(square, 1), Item(polygon([(0, 0), (half, 0), (0, half)]), 4)], places


def flat(outline, placement, tolerance=1e-4):
    """Return a placed outline as a shapely polygon on fine chords."""
    return shapely.Polygon(flatten(placement.outline(outline), tolerance))


def check_layout(layout, items, sheet, gap, blocks, fixed=()):
    """Assert by shapely that a layout holds so many blocks, inside the sheet, and keeps the gap.

    Of the fixtures every sheet holds as many as it must, upright.
    """
    counts = {}
    for on_sheet, fixtures in zip(layout.sheets, layout.fixed, strict=True):
        polygons = [flat(items[p.item].outline, p.placement) for p in on_sheet]
        polygons += [flat(fixed[p.item].outline, p.placement) for p in fixtures]
        numbers = [n for n, item in enumerate(fixed) for _ in range(item.count)]
        assert sorted(p.item for p in fixtures) == numbers
        assert all((p.placement.a, p.placement.b, p.placement.flipped) == (1.0, 0.0, False) for p in fixtures)
        for placed in on_sheet:
            assert abs(placed.placement.scale - 1.0) < 1e-12
            key = placed.item, placed.placement.flipped
            counts[key] = counts.get(key, 0) + 1
        bounds = shapely.bounds(np.array(polygons))
        assert bounds[:, :2].min() >= -1e-4
        assert bounds[:, 2].max() <= sheet.width + 1e-4
        assert bounds[:, 3].max() <= sheet.height + 1e-4
        smaller = [shape.buffer(-7e-4, join_style="mitre") for shape in polygons]
        tree = shapely.STRtree(polygons)
        i, j = tree.query(polygons, predicate="dwithin", distance=gap + 1.0)
        for a, b in zip(i.tolist(), j.tolist(), strict=True):
            if a >= b:
                continue
            if gap > 0.0:
                assert polygons[a].distance(polygons[b]) >= gap - 1.3e-3
            else:
                # Sides that all but coincide can mislead the overlay, so shapes are compared a hair smaller.
                assert not smaller[a].intersects(smaller[b])
    for number, item in enumerate(items):
        assert counts.get((number, False), 0) == item.count * blocks
        assert counts.get((number, True), 0) == item.reversed_count * blocks
