"""Marks: what is drawn inside a piece so that it is sewn to the right neighbour at the right place.

*Words.* A **balance mark** lies on a curved seam: one tick in the middle, two at the quarters of a long
one, three at the eighths of a very long one, at equal shares of its length. A **junction mark** is an
arrow head whose tip touches a smooth side where a neighbour's corner meets it. A **seam number** stands
along a seam between two pieces, the same in both. A **mark** is drawn on both pieces of its seam or on
neither, because one without its mate misleads.

Places come from the seam, which both pieces share, so that the mates meet to the last bit. Common
practice (no single source): the middle is always marked, further marks are one to two inches apart, and
neighbouring marks can be told apart. Seam numbers are marks, not words, and belong to the layer of the
marks: a maker who hides that layer wants neither.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import radians
from typing import TYPE_CHECKING

import numpy as np

from convert.block.joins import corners_of, junctions_of
from convert.block.pieces import half_edge_table
from convert.cutting.letters import letter, readable, text_width
from convert.cutting.room import Room, polyline
from convert.cutting.sewing import seams_of
from convert.geometry.chain import Chain, open_chains
from convert.geometry.measure import end_tangent, start_tangent
from convert.geometry.plane import to_complex, unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.cutting.sewing import Seams
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Flags, Ints
    from convert.geometry.similarity import Similarity

TICK, LEAST_TICK = 2.5, 0.8
"""Lengths of ticks, mm; shorter ones are left out."""
TICK_SHARE = 0.4
"""Of the largest circle inside a piece, a tick takes at most this share of the radius."""
SHORTER = (1.0, 0.7, 0.5)
"""What is tried where a tick doesn't fit."""
TICKS_APART = 1.2
"""Between the ticks of one mark, mm."""
CURVED = radians(10.0)
"""A seam that turns less in all is eased in without marks."""
SHORT = 10.0
"""A curved seam shorter than this (mm) has no marks: its ends are marks enough."""
MARKS_APART = 38.1
"""A seam's halves, quarters, eighths longer than this (1 1/2 in) are halved once more."""
MOST_TICKS = 3
SMOOTH = radians(3.0)
"""A side that turns by less goes straight on past a junction."""
HEAD = radians(28.0)
"""Half the opening of an arrow head."""
NUMBER_HEIGHTS = (2.2, 1.8)
"""Heights of seam numbers, mm, best first."""
NUMBER_OFF = (0.9, 1.7)
"""Free space between a number and its seam, mm, best first."""
NUMBER_AWAY = 0.6
"""Least free space between a number and any line, mm."""
LABEL = 3.1 + 1j * 1.6
"""Half the box about a piece's widest place that numbers leave to its label, mm, where there is so much."""
LABEL_SHARE = 0.54
"""Else they leave it this share of the largest circle inside the piece."""
NARROW = 4.5
"""A piece whose largest circle has a smaller radius (mm) has room for its label alone."""

BOX = np.array([-1 - 1j, 1 - 1j, 1 + 1j, -1 + 1j])


@dataclass(frozen=True, slots=True)
class MarkChoices:
    """Which marks a maker wants.

    `balance`: ticks along curved seams, at the same places on both pieces. `junctions`: an arrow head
    where a neighbour's corner meets a piece's smooth side. `seam_numbers`: a number along each inner
    seam, the same on both pieces.
    """

    balance: bool = True
    junctions: bool = True
    seam_numbers: bool = True


@dataclass(frozen=True, slots=True)
class Number:
    """A seam's number: its middle, the direction of the seam there (radians), height of capitals (mm)."""

    text: str
    at: tuple[float, float]
    angle_rad: float
    height: float


@dataclass(frozen=True, slots=True, eq=False)
class PieceMarks:
    """The marks of one piece in the block's coordinates. Numbers are turned to be readable when drawn."""

    lines: tuple[Chain, ...]
    numbers: tuple[Number, ...]

    def drawn(self, placement: Similarity) -> tuple[Chain, ...]:
        """Return the marks as `placement` lays them, open chains.

        Numbers are never upside down or mirrored.
        """
        found = list(_laid(self.lines, placement))
        for number in self.numbers:
            angle = readable(turned(placement, number.angle_rad))
            found += letter(number.text, placement.point(*number.at), number.height, angle)
        return tuple(found)

    def moved(self, placement: Similarity) -> PieceMarks:
        """Return the marks in other coordinates."""
        numbers = [
            replace(n, at=placement.point(*n.at), angle_rad=turned(placement, n.angle_rad))
            for n in self.numbers
        ]
        return PieceMarks(_laid(self.lines, placement), tuple(numbers))


def _laid(lines: Sequence[Chain], placement: Similarity) -> tuple[Chain, ...]:
    """Return straight open chains as `placement` lays them."""
    if not lines:
        return ()
    sizes = [len(line.points) for line in lines]
    points = placement.points(np.concatenate([line.points for line in lines]))
    return open_chains(points, np.zeros(len(points) - len(sizes)), sizes)


def outlines(marks: Sequence[PieceMarks], others: Sequence[Chain] = ()) -> tuple[Complexes, Complexes]:
    """Return starts and ends of the lines that words must keep off: those of `others` too."""
    p, q, _ = polyline([*(line for own in marks for line in own.lines), *others])
    numbers = [number for own in marks for number in own.numbers]
    if not numbers:
        return p, q
    at = np.array([complex(*n.at) for n in numbers])
    way = np.exp(1j * np.array([n.angle_rad for n in numbers]))
    high = 0.5 * np.array([n.height for n in numbers])
    wide = high * np.array([_wide(n.text) for n in numbers])
    corners = at[:, None] + way[:, None] * (wide[:, None] * BOX.real + 1j * high[:, None] * BOX.imag)
    return (
        np.concatenate((p, corners.ravel())),
        np.concatenate((q, np.roll(corners, -1, axis=1).ravel())),
    )


def _wide(text: str) -> float:
    """Return the width of a number per mm of its height: numbers with as many signs are as wide."""
    return text_width("0" * len(text), 1.0)


NO_MARKS = PieceMarks((), ())


def turned(placement: Similarity, angle_rad: float) -> float:
    """Return the direction that `placement` gives to a direction."""
    turn = float(np.arctan2(placement.b, placement.a))
    return turn - angle_rad if placement.flipped else turn + angle_rad


def number_text(number: int) -> str:
    """Return a seam's number, with a full stop where it would be another one upside down."""
    text = str(number)
    over = text[::-1].translate(str.maketrans("69", "96"))
    return text + "." if set(text) <= set("0689") and over != text and over[0] != "0" else text


@lru_cache(maxsize=4)
def piece_marks(block: Block, choices: MarkChoices) -> tuple[PieceMarks, ...]:
    """Return the marks of every piece, in the block's coordinates as seen from the front.

    The last few answers are kept, because several sheets show one block.
    """
    seams = seams_of(block)
    room = Room([(piece.outline, *piece.holes) for piece in block.pieces])
    reach = np.array([block.templates[piece.template].clearance for piece in block.pieces])
    wanted = [_balance(seams)] if choices.balance else []
    if choices.junctions:
        wanted.append(_junctions(block))
    shapes, lines = _ticks(wanted, room, np.minimum(TICK, TICK_SHARE * reach))
    of_piece: list[list[Chain]] = [[] for _ in block.pieces]
    for piece, chain in zip(shapes, lines, strict=True):
        of_piece[piece].append(chain)
    numbers: list[list[Number]] = [[] for _ in block.pieces]
    if choices.seam_numbers:
        numbers = _numbers(block, seams, _with_chains(room, shapes, lines))
    return tuple(
        PieceMarks(tuple(ticks), tuple(texts)) for ticks, texts in zip(of_piece, numbers, strict=True)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    """Ticks that are wanted, n of them: all of one `mark` (n,) are drawn, or none.

    `piece` (n,) is where it lies, `at` (n,) its foot and `way` (n,) its direction inwards. It is an
    arrow head where `head` (n,).
    """

    mark: Ints
    piece: Ints
    at: Complexes
    way: Complexes
    head: bool


def _balance(seams: Seams) -> _Wanted:
    """Return the ticks of the curved seams, on both sides."""
    seam, along, mark = [], [], []
    marks = 0
    for i in np.flatnonzero((seams.turning >= CURVED) & (seams.length >= SHORT)).tolist():
        length, parts = float(seams.length[i]), 2
        places = {0.5: 1}
        for ticks in range(2, MOST_TICKS + 1):
            if length / parts <= MARKS_APART:
                break
            parts *= 2
            places |= {k / parts: ticks for k in range(1, parts, 2)}
        if seams.closed[i]:
            places[0.0] = MOST_TICKS
        for share, ticks in sorted(places.items()):
            steps = TICKS_APART * (np.arange(ticks) - 0.5 * (ticks - 1))
            seam += [i] * ticks
            along += (share * length + steps).tolist()
            mark += [marks] * ticks
            marks += 1
    on, where = np.array(seam, np.int64), np.array(mark, np.int64)
    at, way = seams.places(on, np.array(along))
    inner = seams.second[on] >= 0
    return _Wanted(
        np.concatenate((where, where[inner])),
        np.concatenate((seams.first[on], seams.second[on][inner])),
        np.concatenate((at, at[inner])),
        np.concatenate((1j * way, -1j * way[inner])),
        head=False,
    )


def _junctions(block: Block) -> _Wanted:
    """Return the arrow heads where corners meet smooth sides."""
    planar = block.map
    corners = corners_of(planar)
    found = junctions_of(planar, corners, SMOOTH)
    piece = {p.face: number for number, p in enumerate(block.pieces)}
    leaving = [2 * j.along[1] + int(planar.face_of[2 * j.along[1]] != j.bar) for j in found]
    after = np.array(leaving, np.int64)
    _, table = half_edge_table(planar)
    way = to_complex(start_tangent(table.take(after)))
    way = unit(way + to_complex(end_tangent(table.take(corners.before[after]))))
    return _Wanted(
        np.arange(len(found)),
        np.array([piece[j.bar] for j in found], np.int64),
        to_complex(planar.points[[j.vertex for j in found]]),
        1j * way,
        head=True,
    )


def _ticks(wanted: Sequence[_Wanted], room: Room, longest: Floats) -> tuple[list[int], list[Chain]]:
    """Return the ticks that fit, as long as they can be, and the piece of each."""
    pieces: list[int] = []
    lines: list[Chain] = []
    for w in wanted:
        size = np.zeros(len(w.mark))
        for share in SHORTER:
            tried = np.where(size == 0.0, share * longest[w.piece], 0.0)
            rows = np.flatnonzero(tried >= LEAST_TICK)
            # The line where the tick stands is its own side; all else keeps a tick's length away.
            long = tried[rows]
            middle = w.at[rows] + w.way[rows] * long * 1.3
            # An upright box from a third of the tick to as much again beyond its end.
            half = long + 1j * np.where(w.head, 0.6, 0.35) * long
            fits = room.clear(w.piece[rows], middle, half, w.way[rows], np.zeros(len(rows)))
            size[rows[fits]] = long[fits]
        missing = np.zeros(int(w.mark.max(initial=-1)) + 1, bool)
        missing[w.mark[size == 0.0]] = True
        for row in np.flatnonzero(~missing[w.mark]).tolist():
            foot, end = w.at[row], w.way[row] * size[row]
            ends = [foot + end * np.exp(1j * HEAD), foot, foot + end * np.exp(-1j * HEAD)]
            way = np.array(ends if w.head else [foot, foot + end])
            points = np.column_stack((way.real, way.imag))
            pieces.append(int(w.piece[row]))
            lines.append(Chain(points, np.zeros(len(way) - 1), closed=False))
    return pieces, lines


def _with_chains(room: Room, owner: Sequence[int], lines: Sequence[Chain]) -> Room:
    """Return the room with straight chains drawn in it."""
    sizes = [len(chain) for chain in lines]
    if not sizes:
        return room
    z = [to_complex(chain.points) for chain in lines]
    p, q = np.concatenate([a[:-1] for a in z]), np.concatenate([a[1:] for a in z])
    return room.with_lines(np.repeat(np.asarray(owner), sizes), p, q)


def _numbers(block: Block, seams: Seams, room: Room) -> list[list[Number]]:
    """Return for each piece the numbers of its seams, where both sides of a seam have room for it."""
    inner = int((seams.number > 0).sum())
    texts = [number_text(n) for n in seams.number[:inner].tolist()]
    wide = np.array([_wide(text) for text in texts])
    seam, along, off, height = _number_places(seams, wide)
    at, way = seams.places(seam, along)
    half = 0.5 * height * (wide[seam] + 1j)
    sides = []
    for sign, pieces in ((1j, seams.first), (-1j, seams.second)):
        middle = at + sign * way * (off + 0.5 * height)
        sides.append((pieces[seam], middle, _clear(block, room, pieces[seam], middle, half, way)))
    (first, a, fits_a), (second, b, fits_b) = sides
    numbers: list[list[Number]] = [[] for _ in block.pieces]
    taken: list[list[complex]] = [[] for _ in block.pieces]
    rows = np.flatnonzero(fits_a & fits_b)
    done = np.zeros(inner, bool)
    for row in rows.tolist():
        i, size = int(seam[row]), float(height[row])
        radius = float(abs(half[row])) + NUMBER_AWAY
        places = ((int(first[row]), complex(a[row])), (int(second[row]), complex(b[row])))
        if done[i] or any(abs(z - other) < 2.0 * radius for piece, z in places for other in taken[piece]):
            continue
        done[i] = True
        angle = float(np.angle(way[row]))
        for piece, z in places:
            taken[piece].append(z)
            numbers[piece].append(Number(texts[i], (z.real, z.imag), angle, size))
    return numbers


def _number_places(seams: Seams, wide: Floats) -> tuple[Ints, Floats, Floats, Floats]:
    """Return what is tried for each seam, best first: seam, mm along it, mm off it, height, all (m,)."""
    height, off, place = (
        a.ravel() for a in np.meshgrid(NUMBER_HEIGHTS, NUMBER_OFF, np.arange(5), indexing="ij")
    )
    number = np.repeat(np.arange(len(wide)), len(height))
    height, off, place = (np.tile(a, len(wide)) for a in (height, off, place))
    long = seams.length[number]
    beside = 0.5 * height * wide[number] + 0.5 * TICKS_APART + 1.6
    # In the middle, then beside a mark that may be there, then further along.
    along = np.choose(
        place.astype(np.intp),
        [0.5 * long, 0.5 * long - beside, 0.5 * long + beside, 0.3 * long, 0.7 * long],
    )
    half = 0.5 * height * wide[number] + NUMBER_AWAY
    kept = (along > half) & (along < long - half)
    return number[kept], along[kept], off[kept], height[kept]


def _clear(
    block: Block, room: Room, piece: Ints, middle: Complexes, half: Complexes, way: Complexes
) -> Flags:
    """Tell which boxes lie clear inside their pieces and leave the widest place to the label."""
    at = np.array([complex(*p.placement.point(*block.templates[p.template].at)) for p in block.pieces])
    reach = np.array([block.templates[p.template].clearance for p in block.pieces])
    kept = abs(LABEL) * np.minimum(1.0, LABEL_SHARE * reach / abs(LABEL))
    # A label may come to lie any way round: numbers keep out of the circle about its box.
    away = (at[piece] - middle) * way.conj()
    beyond = np.hypot(
        np.maximum(np.abs(away.real) - half.real, 0.0), np.maximum(np.abs(away.imag) - half.imag, 0.0)
    )
    free = (beyond >= kept[piece]) & (reach[piece] >= NARROW)
    return free & room.clear(piece, middle, half, way, np.full(len(piece), NUMBER_AWAY))
