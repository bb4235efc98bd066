"""How long it takes to turn a drawn tiling into faces, against an independent library on the same lines.

Run it as `python tests/bench/bench_arrange.py [hexagons|squares|triangles|bricks ...]`. Every tiling is
drawn as separate closed shapes, so each seam twice. Timed are `arrange` (noding, faces, and for filled
shapes what is seen) and `shapely.unary_union` followed by `shapely.polygonize` on the same lines, in
turns, in one process; shown are the least processor seconds of five runs. To reach: half the
library's time for stroked tilings whose corners meet, and from 1,000 to 50,000 pieces no faster growth
than n log n. Bricks are shown for comparison: half their corners lie on a neighbour's side, which has
to be cut there.
"""

from __future__ import annotations

import sys
import time
from math import log

import numpy as np
import shapely

from convert.block.arrange import arrange
from convert.geometry.chain import Segments
from convert.geometry.tolerance import Tolerances
from convert.reader.drawing import Drawing, Element, FillRule

PIECES = (1_000, 10_000, 50_000)
RUNS = 5
RATIO = 0.5
LIMITED = ("hexagons", "squares", "triangles")


def grid(pieces):
    """Return the column and row numbers of a square grid of about so many cells."""
    side = round(pieces**0.5)
    column, row = np.meshgrid(np.arange(side, dtype=float), np.arange(side, dtype=float))
    return column.ravel(), row.ravel()


def outlines(shape, pieces):
    """Return the corners of a tiling's pieces, (n, corners, 2), rounded to six decimals.

    Turned by 0.3 rad; not so bricks, whose rounded corners would leave their neighbours' sides, so that the
    library would find fewer faces.
    """
    if shape == "hexagons":
        i, j = grid(pieces)
        centre = np.column_stack((1.5 * i, 3**0.5 * (j + 0.5 * (i % 2))))
        angle = np.arange(6) * np.pi / 3
        ring = np.column_stack((np.cos(angle), np.sin(angle)))
    else:
        i, j = grid(pieces // 2 if shape == "triangles" else pieces)
        centre = np.column_stack((2 * i + 0.7 * (j % 2), j) if shape == "bricks" else (i, j))
        ring = np.array(
            [(0, 0), (2 if shape == "bricks" else 1, 0), (2 if shape == "bricks" else 1, 1), (0, 1)], float
        )
    corners = centre[:, None, :] + ring
    if shape == "triangles":
        corners = np.concatenate((corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]))
    turn = 0.0 if shape == "bricks" else 0.3
    c, s = np.cos(turn), np.sin(turn)
    return (corners @ np.array(((c, s), (-s, c)))).round(6)


def drawing_of(corners, *, filled):
    """Return the drawing of a tiling, every piece a closed shape with a stroke or a fill."""
    count, sides = corners.shape[:2]
    fill, stroke = ("#aa3322", None) if filled else (None, "#000000")
    elements = tuple(
        Element(f"path[{k}]", "path", k, (), (), fill, 1.0, FillRule.NONZERO, stroke, 0.1)
        for k in range(count)
    )
    owner = np.repeat(np.arange(count), sides)
    start, end = lines_of(corners)
    return Drawing(
        "tiling.svg", "", (1000.0, 1000.0), "mm", True, elements, Segments(start, end, np.zeros(len(start))),
        owner, owner, np.ones(count, bool), np.zeros(len(start), bool), (), 0.001, 0.0, (),
    )  # fmt: skip


def lines_of(corners):
    """Return the start and end of every side."""
    return corners.reshape(-1, 2), np.roll(corners, -1, axis=1).reshape(-1, 2)


def library(corners):
    """Return the faces that shapely finds."""
    lines = shapely.linestrings(np.stack(lines_of(corners), axis=1))
    before = time.process_time()
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines)]))
    return time.process_time() - before, len(faces)


def ours(drawing, tolerances):
    """Return the faces that `arrange` finds."""
    before = time.process_time()
    faces = arrange(drawing, tolerances).map.face_count
    return time.process_time() - before, faces


def main(shapes):
    """Print the table and return 1 when a limit is passed."""
    late = 0
    for shape in shapes:
        for filled in (False, True):
            taken = {}
            for pieces in PIECES:
                corners = outlines(shape, pieces)
                drawing = drawing_of(corners, filled=filled)
                tolerances = Tolerances.for_extent(float(np.ptp(corners.reshape(-1, 2), axis=0).max()))
                runs = [(ours(drawing, tolerances), library(corners)) for _ in range(RUNS)]
                assert {r[0][1] for r in runs} == {r[1][1] for r in runs} == {len(corners)}, (
                    "a face is missing"
                )
                mine, theirs = min(r[0][0] for r in runs), min(r[1][0] for r in runs)
                taken[len(corners)] = mine
                what = f"{shape} {'filled' if filled else 'stroked'}"
                print(
                    f"{what:18} {len(corners):6} pieces  {mine:7.4f} s  {theirs:7.4f} s  {mine / theirs:.2f}",
                    flush=True,
                )
                late += shape in LIMITED and not filled and mine > RATIO * theirs
            (few, quick), *_, (many, slow) = taken.items()
            growth = slow / quick / (many * log(many) / (few * log(few)))
            print(f"{'':18} growth against n log n: {growth:.2f}")
            late += growth > 1
    return int(late > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or (*LIMITED, "bricks")))
