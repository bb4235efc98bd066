"""Sheets: exactly what a writer writes, and nothing that it would have to compute.

*Words.* A **stroke** is one path for one tool, in cutting order. Its **purpose** says why it is
there; a profile turns purposes into layer names and colours. A **copy** is one template laid on
the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Segments

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from convert.errors import Finding
    from convert.geometry.chain import Chain
    from convert.geometry.similarity import Similarity

    Ints = NDArray[np.int64]


class Purpose(Enum):
    """Why a stroke or text is on the sheet."""

    # Members are singletons. Enum's own hash is a call in Python, asked for some 100,000 times a drawing.
    __hash__ = object.__hash__

    OUTER = "outer"  # cut: the outside of what is kept
    INNER = "inner"  # cut: a hole or window in what is kept
    SEAM = "seam"  # cut once between two pieces of an assembled block
    MARK = "mark"  # drawn or scored: balance marks, T-junctions, seam numbers, grain
    LETTER = "letter"  # drawn: labels and other words
    CHECK = "check"  # not for cutting: check squares, the sheet's edge


CUTS = frozenset({Purpose.OUTER, Purpose.INNER, Purpose.SEAM})
"""The purposes that are cut."""


class Arrangement(Enum):
    """How pieces lie on the sheet."""

    PIECES = "pieces"
    ASSEMBLED = "assembled"


class Product(Enum):
    """What separate shapes are for."""

    FINISHED = "finished"  # papers, and card templates of the finished size
    CLOTH = "cloth"  # with the allowance, to cut cloth by
    WINDOW = "window"  # a frame as wide as the allowance, its opening of the finished size


class Facing(Enum):
    """Which side of the finished block the sheet shows."""

    BACK = "back"
    FRONT = "front"
    EITHER = "either"  # the block is its own mirror image


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One path. `copy` is the number of the copy on the sheet it belongs to (-1: to none).

    A closed outline may be written as open strokes: strokes that share an `outline` number (>= 0),
    which follow each other, are together one closed outline. Each leaves `bridge` mm of straight
    line uncut before the next (the last one before the first), and the last `overlap` mm of a
    single one retrace its beginning.
    """

    chain: Chain
    purpose: Purpose
    copy: int = -1
    outline: int = -1
    bridge: float = 0.0
    overlap: float = 0.0


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of text, centred on `at`, with capital letters `height` mm high, turned by `angle_rad`."""

    text: str
    at: tuple[float, float]
    height: float
    angle_rad: float
    purpose: Purpose
    copy: int = -1


@dataclass(frozen=True, slots=True)
class Copy:
    """One template (or, in an assembled block, one piece) on the sheet.

    `label` is the template's letter, or the piece's label; `placement` maps the block's own
    coordinates (of the template's outline, or of the block) to the sheet. `piece` is the number in the
    block of the piece it is cut for (-1 for a tool).
    """

    label: str
    template: int
    reversed: bool
    placement: Similarity
    piece: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One card, paper or mat load. Millimetres, y up, lower left corner of the sheet at the origin.

    `title` says in one line what the sheet shows. `number` of `of` sheets together make `blocks`
    whole blocks. `findings` are what a maker should know about this sheet. `product` is what its
    separate shapes are for; an assembled block is of the finished size.
    """

    name: str
    title: str
    width: float
    height: float
    arrangement: Arrangement
    facing: Facing
    number: int
    of: int
    blocks: int
    copies: tuple[Copy, ...]
    strokes: tuple[Stroke, ...]
    letterings: tuple[Lettering, ...]
    findings: tuple[Finding, ...] = ()
    product: Product = Product.FINISHED


def segments_of(strokes: Iterable[Stroke]) -> Segments:
    """Return all segments of `strokes` as one table, in order."""
    return segments_of_chains([stroke.chain for stroke in strokes])


def segments_of_chains(chains: Sequence[Chain]) -> Segments:
    """Return all segments of `chains` as one table, in order."""
    if not chains:
        return Segments(np.empty((0, 2)), np.empty((0, 2)), np.empty(0))
    points = np.concatenate([chain.points for chain in chains])
    start, end = segment_rows([len(chain.points) for chain in chains], [chain.closed for chain in chains])
    return Segments(points[start], points[end], np.concatenate([chain.bulge for chain in chains]))


def segment_rows(sizes: Sequence[int], closed: Sequence[bool]) -> tuple[Ints, Ints]:
    """Return the numbers of the vertices where segments start and end, for chains that follow each other.

    `sizes` are the chains' numbers of vertices.
    """
    count = np.asarray(sizes, dtype=np.int64)
    last = np.cumsum(count) - 1
    start = np.arange(int(count.sum()))
    end = start + 1
    end[last] -= count
    kept = np.ones(len(start), dtype=np.bool_)
    kept[last[~np.asarray(closed, dtype=np.bool_)]] = False
    return start[kept], end[kept]
