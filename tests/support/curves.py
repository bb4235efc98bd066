"""Made-up segments and outlines, their symmetries, and points on arcs found independently of the program."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from convert.geometry.chain import Chain, Segments
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Iterator

SETTINGS = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
BULGES = (0.0, 1.0, -1.0, 0.5, -0.5, float(np.tan(pi / 8)), 1e-9, -1e-9, 1e-7, 0.02, -0.999999)

coordinates = st.one_of(
    st.integers(-8, 8).map(lambda v: v * 10.0), st.floats(-100, 100).map(lambda v: round(v, 4))
)
points = st.tuples(coordinates, coordinates)
bulges = st.one_of(st.sampled_from(BULGES), st.floats(-1, 1).map(lambda v: round(v, 6)))
moves = st.builds(
    lambda turn, scale, flipped, x, y: Similarity.shift(x, y).after(
        Similarity.turn(turn, scale, flipped=flipped)
    ),
    st.floats(-pi, pi),
    st.floats(0.1, 10.0),
    st.booleans(),
    st.sampled_from((0.0, 17.0, 1e5)),
    st.sampled_from((0.0, -3.5, -1e5)),
)


@st.composite
def tables(draw, least: int = 1, most: int = 6) -> Segments:
    """Return a table of segments, none shorter than 0.01 between its ends."""
    rows = draw(st.lists(st.tuples(points, points, bulges), min_size=least, max_size=most))
    rows = [(p, q, b) for p, q, b in rows if np.hypot(p[0] - q[0], p[1] - q[1]) > 0.01]
    rows = rows or [((0.0, 0.0), (50.0, 20.0), 0.4)]
    start, end, bulge = zip(*rows, strict=True)
    return Segments(np.array(start), np.array(end), np.array(bulge))


@st.composite
def stars(draw, most: int = 9) -> Chain:
    """Return a counter-clockwise outline that doesn't cross itself: a star with sides a little bowed."""
    count = draw(st.integers(3, most))
    radius = np.array(draw(st.lists(st.floats(20, 60), min_size=count, max_size=count)))
    turn = 2 * pi * np.arange(count) / count + draw(st.floats(0, 1))
    small = st.sampled_from((0.0, 0.0, 0.05, -0.05, 0.1, 1e-9))
    bulge = draw(st.lists(small, min_size=count, max_size=count))
    corners = np.stack((radius * np.cos(turn), radius * np.sin(turn)), axis=1)
    return Chain(corners + np.array(draw(points)), np.array(bulge))


@dataclass(frozen=True, slots=True)
class Variant:
    """The same outline otherwise: how it was changed, and how points and the sign of its area follow."""

    name: str
    chain: Chain
    move: Similarity
    sign: int


def variants(chain: Chain) -> Iterator[Variant]:
    """Yield the outline with another first vertex, reversed, mirrored, turned, moved far away and scaled."""
    stay = Similarity()
    for k in (1, len(chain) // 2):
        rolled = Chain(np.roll(chain.points, -k, axis=0), np.roll(chain.bulge, -k))
        yield Variant(f"begun {k} later", rolled, stay, 1)
    backwards = Chain(chain.points[::-1], -np.roll(chain.bulge[::-1], -1))
    yield Variant("reversed", backwards, stay, -1)
    mirror = Similarity.mirror_x()
    yield Variant("mirrored", mirror.chain(chain), mirror, -1)
    for name, move in {
        "turned": Similarity.turn(2.1),
        "far": Similarity.shift(1e5, -1e5),
        "scaled": Similarity.turn(0.0, 25.4),
    }.items():
        yield Variant(name, move.chain(chain), move, 1)


def on_circle(start, end, bulge: float, t) -> np.ndarray:
    """Return points of one segment (k, 2) by turning its start about its centre, in extended precision.

    A path of its own: no formula shared with the program but the meaning of a bulge.
    """
    t = np.asarray(t, np.longdouble)
    px, py, qx, qy = (np.longdouble(v) for v in (*start, *end))
    if bulge == 0:
        return np.stack((px + t * (qx - px), py + t * (qy - py)), axis=-1).astype(float)
    b = np.longdouble(bulge)
    sweep = 4 * np.arctan(b)
    # The centre lies on the chord's bisector, radius * cos(half the sweep) to the left.
    apothem = 1 / (2 * np.tan(sweep / 2))
    cx = (px + qx) / 2 - (qy - py) * apothem
    cy = (py + qy) / 2 + (qx - px) * apothem
    c, s = np.cos(t * sweep), np.sin(t * sweep)
    x = cx + (px - cx) * c - (py - cy) * s
    y = cy + (px - cx) * s + (py - cy) * c
    return np.stack((x, y), axis=-1).astype(float)


def sampled(s: Segments, t) -> np.ndarray:
    """Return on_circle for every row (n, k, 2)."""
    return np.array([on_circle(p, q, b, t) for p, q, b in zip(s.start, s.end, s.bulge, strict=True)])


def backwards(s: Segments) -> Segments:
    """Return the rows run through the other way."""
    return Segments(s.end, s.start, -s.bulge)
