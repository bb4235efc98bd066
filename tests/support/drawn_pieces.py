"""Pieces to draw in, and their strokes as points and polygons, in arithmetic of the tests' own."""

import math

import numpy as np
import shapely
from hand_blocks import hand_block
from hypothesis import strategies as st

WAYS = st.lists(st.integers(1, 40), min_size=4, max_size=9).map(
    lambda steps: [360.0 * sum(steps[:k]) / sum(steps) for k in range(len(steps))]
)
"""Directions (degrees) of the corners of a fan."""


def sampled(chain, steps=12):
    """Return points along a chain, by turning about each arc's centre: arithmetic of this test's own."""
    found = []
    table = chain.segments
    for start, end, bulge in zip(table.start, table.end, table.bulge, strict=True):
        a, b = complex(*start), complex(*end)
        t = np.linspace(0.0, 1.0, steps)
        if bulge:
            turn = np.exp(4j * math.atan(bulge))
            centre = (b - a * turn) / (1.0 - turn)
            found.append(centre + (a - centre) * np.exp(4j * math.atan(bulge) * t))
        else:
            found.append(a + (b - a) * t)
    z = np.concatenate(found)
    return np.column_stack((z.real, z.imag))


def region(piece):
    """Return a piece as a polygon whose corners lie on its arcs, finely."""
    return shapely.Polygon(sampled(piece.outline, 400), [sampled(hole, 400) for hole in piece.holes])


def fan(ways, radius):
    """Return triangles round a middle, their corners at the given directions (degrees)."""
    corners = [(radius * math.cos(math.radians(w)), radius * math.sin(math.radians(w))) for w in ways]
    points = [(0.0, 0.0), *corners]
    count = len(ways)
    return hand_block("fan", points, [[(0, 0), (1 + k, 0), (1 + (k + 1) % count, 0)] for k in range(count)])
