"""How long parallel outlines of ten thousand pieces take, against shapely's buffer of the same in chords.

Run it as `python tests/bench/bench_offset.py`. Pieces have six edges, arcs or lines; chords stray by
0.01 mm. It prints seconds and ratios, the least of three runs; to reach: at most 2 for an allowance.
"""

from __future__ import annotations

import sys
import time
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.geometry.chain import Chain
from convert.geometry.edit import flatten
from convert.geometry.offset import Corners, offset_many

if TYPE_CHECKING:
    from collections.abc import Callable

PIECES = 10_000
LIMIT = 2.0


def pieces(rng: np.random.Generator, bend: float) -> list[Chain]:
    """Draw pieces of six edges, about 45 mm across."""
    angle = np.arange(6) * np.pi / 3 + rng.uniform(-0.3, 0.3, (PIECES, 6))
    radius = rng.uniform(15, 30, (PIECES, 6))
    corner = np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=2)
    bulge = rng.uniform(-bend, bend, (PIECES, 6))
    return [Chain(c, b) for c, b in zip(corner, bulge, strict=True)]


def least(action: Callable[[], object]) -> float:
    """Return the least time of three runs, in seconds."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> int:
    """Print the table; return 1 when an allowance takes more than the limit."""
    worst = 0.0
    print("edges  distance  corners  shapely s  ours s  ratio")
    for edges, bend in (("arcs", 0.25), ("lines", 0.0)):
        outlines = pieces(np.random.default_rng(1), bend)
        chords = np.array([shapely.Polygon(flatten(c, 0.01)) for c in outlines])
        for distance in (6.35, 9.525, -3.0):
            for corners, join in ((Corners.rounded(), "round"), (Corners.mitred(), "mitre")):
                theirs = least(partial(shapely.buffer, chords, distance, quad_segs=16, join_style=join))
                ours = least(partial(offset_many, outlines, distance, corners))
                ratio = ours / theirs
                worst = max(worst, ratio if distance > 0 and join == "round" else 0.0)
                print(f"{edges:5}  {distance:8}  {join:7}  {theirs:9.2f}  {ours:6.2f}  {ratio:5.2f}")
    return 1 if worst > LIMIT else 0


if __name__ == "__main__":
    sys.exit(main())
