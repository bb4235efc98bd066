"""Waste between papers that lie edge to edge, hatched so that nobody takes it for a paper.

*Words.* **Levels** are parallel lines at 45 degrees over a page, close to each other. What is **open** of a
level lies in no paper. Open parts of neighbouring levels hang together where they lie side by side; what does
not hang together with the outside is enclosed by papers, and would come out like one of them: waste.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import crossings_at
from convert.block.snapping import components, spans
from convert.booklet.leaf import line
from convert.cutting.room import comes_in
from convert.geometry.chain import Segments
from convert.geometry.index import box_pairs
from convert.geometry.measure import area, boxes
from convert.geometry.plane import to_complex, to_points

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes

    Ints = NDArray[np.int64]

STEP = 0.25
"""Between levels, mm."""
EVERY = 6
"""One of so many levels is drawn."""
NARROW = 0.4
"""What is no wider, mm, is no way out."""
LEAST = 15.0
"""Waste of a smaller area, mm², is no paper to anybody."""
OFF = 0.6
"""From where hatching would meet a cut to where it ends, mm."""
FAR = 1e6
"""Beyond every page, mm."""
TURN = (1.0 + 1.0j) * np.sqrt(0.5)


def hatching(papers: Sequence[Chain]) -> tuple[Complexes, Complexes]:
    """Return both ends (k,) of lines across the waste between closed outlines that don't overlap."""
    level, low, high = _open_parts(papers)
    frame = np.column_stack((low + NARROW / 2, level, high - NARROW / 2, level + 1))
    one, other = box_pairs(np.asarray(frame, np.float64))
    part = components(len(level), one, other)
    outside = np.unique(part[(low == -FAR) | (high == FAR)])
    size = np.bincount(part, (high - low) * STEP)
    waste = ~np.isin(part, outside) & (size[part] >= LEAST)
    drawn = waste & (level % EVERY == 0) & (high - low > 3 * OFF)
    height = 1j * STEP * (level[drawn] + 0.5)
    p, q = (low[drawn] + OFF + height) * TURN, (high[drawn] - OFF + height) * TURN
    return p, q


def beside(lines: tuple[Complexes, Complexes], words: Sequence[tuple[complex, complex]]) -> list[Chain]:
    """Return those lines that come into none of the boxes with these middles and half sizes (mm)."""
    p, q = lines
    free = np.ones(len(p), np.bool_)
    for middle, half in words:
        free &= ~comes_in(p - middle, q - middle, np.full(len(p), half))
    ends = zip(to_points(p[free]).tolist(), to_points(q[free]).tolist(), strict=True)
    return [line((a, b), (c, d)) for (a, b), (c, d) in ends]


def _open_parts(papers: Sequence[Chain]) -> tuple[Ints, Floats, Floats]:
    """Return level, lower and upper end of all that is open and wider than NARROW."""
    tables = [paper.segments for paper in papers]
    start = to_complex(np.concatenate([t.start for t in tables])) / TURN
    end = to_complex(np.concatenate([t.end for t in tables])) / TURN
    edges = Segments(to_points(start), to_points(end), np.concatenate([t.bulge for t in tables]))
    ahead = np.repeat([np.sign(area(paper)) for paper in papers], [len(t) for t in tables])
    box = boxes(edges)
    first = np.ceil(box[:, 1] / STEP - 0.5).astype(np.int64)
    count = np.maximum(np.floor(box[:, 3] / STEP - 0.5).astype(np.int64) - first + 1, 0)
    edge, level = np.repeat(np.arange(len(edges)), count), spans(first, count)
    x, rises, row = crossings_at(edges.take(edge), np.asarray(STEP * (level + 0.5), np.float64))
    # A counter-clockwise outline rises at its right end: there one paper less is about.
    more = np.where(rises, -1, 1) * ahead[edge[row]].astype(np.int64)
    every = np.arange(first.min() - 1, level.max() + 2)
    level = np.concatenate((every, level[row]))
    x = np.concatenate((np.full(len(every), -FAR), x))
    about = np.concatenate((np.zeros(len(every), np.int64), more))
    order = np.lexsort((x, level))
    level, x, about = level[order], x[order], np.cumsum(about[order])
    high = np.append(np.where(level[1:] == level[:-1], x[1:], FAR), FAR)
    is_open = (about == 0) & (high - x > NARROW)
    return level[is_open], x[is_open], high[is_open]
