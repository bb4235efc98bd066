"""Names that stay: letters for templates, numbers for pieces.

Whoever turns a drawing on its page, draws its parts in another order or scales it must find the same
labels again. So everything here is decided by what the block itself looks like: templates by size and
shape, the two hands of a shape by how many there are, pieces by their place round the block's centroid.

Numbers that come out of geometry carry rounding, so they are never compared bare: values nearer than
a tolerance get one **rank** (sorted, and cut only where a gap is wide enough), and ranks are compared.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.block.congruence import flipped_knots, knots_of
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from convert.block.congruence import Complexes
    from convert.block.model import Ints
    from convert.block.pieces import Faces
    from convert.block.plain import Outlines
    from convert.block.templates import NearMiss, Shape
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances

HARMONICS = np.arange(1, 13)
"""Orders of turning symmetry that tell how a piece lies: up to the twelve-sided shapes of the trade."""

ROUNDING = 0.3
"""Lengths that differ by less than this share of the gap tolerance are equal: files round numbers."""

CHAIN = 4
FINER = 6
"""When `ranks` takes a run for more than one number, and how often it looks eight times closer."""


def letters(number: int) -> str:
    """Return the label of template `number`: A for 0, Z for 25, AA for 26."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def ranks(values: Floats, tolerance: float | Floats) -> Ints:
    """Return (n,) ranks from 0, equal for values that no gap wider than the tolerance keeps apart.

    Where many values chain together over more than CHAIN tolerances, they are no scatter of one number:
    such a run is cut at finer gaps, until its parts are short.
    """
    order = np.argsort(values, kind="stable")
    rank = np.zeros(len(values), np.int64)
    if len(values) < 2:
        return rank
    allowed = np.broadcast_to(np.asarray(tolerance, np.float64), values.shape)[order]
    value = values[order]
    gap = np.diff(value)
    cut = gap > allowed[1:]
    finer = allowed[1:]
    for _ in range(FINER):
        first = np.flatnonzero(np.concatenate(([True], cut)))
        last = np.concatenate((first[1:], [len(value)])) - 1
        long = value[last] - value[first] > CHAIN * allowed[first]
        if not long.any():
            break
        finer = finer / 8
        cut |= np.repeat(long, last - first + 1)[1:] & (gap > finer)
    rank[order[1:]] = np.cumsum(cut)
    return rank


def order_shapes(
    shapes: Sequence[Shape], faces: Faces, outlines: Outlines, tolerances: Tolerances
) -> tuple[list[int], list[bool]]:
    """Return the shapes' numbers in the order of their letters, and by shape if its pattern is reversed.

    Largest area first; equal areas by larger perimeter, then fewer vertices, then the outline's own
    sequence of edges and turns, which no start and no turn of the drawing changes. As it is, a
    template lies as most of its pieces do; if both hands are equally many, as the lesser sequence says.
    """
    pattern = np.array([s.pattern for s in shapes], np.int64)
    rounding = tolerances.gap * ROUNDING
    area, perimeter = faces.area[pattern], faces.perimeter[pattern]
    size = np.diff(outlines.start)[faces.outer[pattern]]
    keys: list[Callable[[Ints], Ints]] = [
        lambda rows: ranks(-area[rows], perimeter[rows] * rounding),
        lambda rows: ranks(-perimeter[rows], size[rows] * rounding),
        lambda rows: size[rows],
    ]
    groups = [np.arange(len(shapes))]
    for key in keys:
        groups = [part for rows in groups for part in _split(rows, key(rows))]
    order: list[int] = []
    reversed_pattern = [False] * len(shapes)
    for rows in groups:
        hands = [_hand(shapes[i]) for i in rows.tolist()]
        if len(rows) == 1 and hands[0] is not None:
            order += rows.tolist()
            reversed_pattern[int(rows[0])] = hands[0]
            continue
        both = _sequences(knots_of(outlines, faces.outer[pattern[rows]], int(size[rows[0]])), rounding)
        order += [int(rows[i]) for i in sorted(range(len(rows)), key=lambda i: min(both[i]))]
        for i, hand, (own, other) in zip(rows.tolist(), hands, both, strict=True):
            reversed_pattern[i] = other < own if hand is None else hand
    return order, reversed_pattern


def nearly_behind(order: Sequence[int], near: Sequence[NearMiss], shapes: Sequence[Shape]) -> list[int]:
    """Return the order with each shape that nearly equals a more frequent one directly behind that one.

    So the shape that was meant gets the earlier letter, although a slip may have made the other larger.
    """
    place = {shape: i for i, shape in enumerate(order)}
    leads: dict[int, int] = {}
    for miss in near:
        for shape, lead in ((miss.first, miss.second), (miss.second, miss.first)):
            better = (-len(shapes[lead].members), place[lead])
            known = leads.get(shape)
            if len(shapes[lead].members) > len(shapes[shape].members) and (
                known is None or better < (-len(shapes[known].members), place[known])
            ):
                leads[shape] = lead
    behind: dict[int, list[int]] = {}
    for shape in order:
        if shape in leads:
            behind.setdefault(leads[shape], []).append(shape)
    found: list[int] = []
    # A lead has more members than its followers, so following leads to an end.
    waiting = [shape for shape in reversed(order) if shape not in leads]
    while waiting:
        shape = waiting.pop()
        found.append(shape)
        waiting += reversed(behind.get(shape, []))
    return found


def _split(rows: Ints, rank: Ints) -> list[Ints]:
    """Return `rows` in groups of equal rank, lowest rank first."""
    if len(rows) == 1:
        return [rows]
    order = np.argsort(rank, kind="stable")
    return np.split(rows[order], np.flatnonzero(np.diff(rank[order])) + 1)


def _hand(shape: Shape) -> bool | None:
    """Return whether most pieces are reversed; None when both hands are equally many."""
    reversed_count = sum(m.reversed for m in shape.members)
    if shape.own_mirror or reversed_count == 0:
        return False
    return None if 2 * reversed_count == len(shape.members) else 2 * reversed_count > len(shape.members)


def _sequences(knots: Complexes, rounding: float) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Return, for each outline and for its mirror image, the least of its cyclic sequences of ranks."""
    count = knots.shape[2]
    numbers = []
    for k in (knots, flipped_knots(knots)):
        corner, middle = k[:, 0], k[:, 1]
        following = np.roll(corner, -1, axis=1)
        edge = np.abs(following - corner)
        rise = ((middle - (corner + following) / 2) * (following - corner).conj()).imag / edge
        diagonal = np.abs(following - np.roll(corner, 1, axis=1))
        turn = ((following - corner) * (corner - np.roll(corner, 1, axis=1)).conj()).imag > 0
        numbers.append((edge, rise, diagonal, turn))
    columns = [
        ranks(np.concatenate([own.ravel(), other.ravel()]), rounding)
        for own, other in zip(numbers[0][:3], numbers[1][:3], strict=True)
    ]
    columns.append(np.concatenate([numbers[0][3].ravel(), numbers[1][3].ravel()]).astype(np.int64))
    word = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)[1].reshape(2, -1, count)
    return [
        (_least_rotation(own), _least_rotation(other))
        for own, other in zip(word[0].tolist(), word[1].tolist(), strict=True)
    ]


def _least_rotation(word: list[int]) -> tuple[int, ...]:
    """Return the lexicographically least rotation of a cyclic word.

    *Source*: the two-pointer method of minimal representation (common practice), linear in the length.
    """
    n = len(word)
    i, j, k = 0, 1, 0
    while i < n and j < n and k < n:
        a, b = word[(i + k) % n], word[(j + k) % n]
        if a == b:
            k += 1
            continue
        if a > b:
            i += k + 1
        else:
            j += k + 1
        if i == j:
            j += 1
        k = 0
    start = min(i, j)
    return tuple(word[start:] + word[:start])


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """What numbering needs to know of each piece; all (F,), by face.

    `template` is the rank of its letter, `turn` how its template is turned (a unit complex number),
    `reversed` whether it is flipped before, `fabric` the rank of its fabric.
    """

    template: Ints
    turn: Complexes
    reversed: NDArray[np.bool_]
    fabric: Ints


def number_pieces(placed: Placed, patterns: Sequence[Complexes], faces: Faces, gap: float) -> Ints:
    """Return the faces in the order of their numbers: ring by ring from the middle, clockwise in each.

    `patterns` are, by template, points of its outline about its centroid. Where a round begins is
    found in the block: the rarest kind of piece gives the directions to choose from, and the one
    with the least sequence of kinds and angles is taken; if several are equal, the block is
    symmetric, and the first one clockwise from the top serves. *Units*: `gap` in mm, the difference
    that still counts as the same radius.
    """
    middle = (faces.centroid * faces.area[:, None]).sum(axis=0) / faces.area.sum()
    away = to_complex(faces.centroid - middle)
    radius = np.abs(away)
    central = radius <= gap
    ring = ranks(radius, gap)
    angle = np.where(central, 0.0, np.angle(away))
    lie = _lies(placed, patterns, np.where(central, 1.0, away / np.where(central, 1.0, radius)), gap)
    lie[central] = 0
    kinds = np.stack((ring, placed.template, placed.reversed, placed.fabric, lie), axis=1)
    kind, count = np.unique(kinds, axis=0, return_inverse=True, return_counts=True)[1:]
    kind = kind.reshape(-1)
    round_about = np.flatnonzero(~central)
    if not len(round_about):
        return np.argsort(kind, kind="stable")
    rarest = round_about[np.lexsort((kind[round_about], count[kind[round_about]]))[0]]
    slack = np.where(central, 1.0, 2 * gap / np.where(central, 1.0, radius))
    best: list[tuple[float, Ints]] = []
    model: tuple[Ints, Floats] | None = None
    for direction in angle[(kind == kind[rarest]) & ~central].tolist():
        order, word, turned = _walk(direction, angle, ring, kind, slack)
        verdict = 0 if model is None else _compare((word, turned), model, slack[order])
        if model is None or verdict < 0:
            best, model = [], (word, turned)
        if verdict <= 0:
            from_top = (pi / 2 - direction) % (2 * pi)
            best.append((0.0 if from_top > 2 * pi - slack[rarest] else from_top, order))
    return min(best, key=lambda found: found[0])[1]


def _walk(
    direction: float, angle: Floats, ring: Ints, kind: Ints, slack: Floats
) -> tuple[Ints, Ints, Floats]:
    """Return the pieces ring by ring, clockwise from a direction, with their kinds and angles."""
    turned = (direction - angle) % (2 * pi)
    turned = np.where((slack >= 1.0) | (turned > 2 * pi - slack), 0.0, turned)
    order = np.lexsort((turned, ring))
    # Pieces in one place (one inside another) stand in the order of their kinds, not of rounding.
    apart = np.diff(turned[order]) > slack[order[1:]]
    place = np.concatenate(([0], np.cumsum(apart | (np.diff(ring[order]) > 0))))
    order = order[np.lexsort((kind[order], place))]
    return order, kind[order], turned[order]


def _compare(a: tuple[Ints, Floats], b: tuple[Ints, Floats], slack: Floats) -> int:
    """Return -1, 0 or 1: by the kinds, then by angles that differ by more than the slack."""
    for first, second, tolerance in ((a[0], b[0], 0.0), (a[1], b[1], slack)):
        differ = np.flatnonzero(np.abs(first - second) > tolerance)
        if len(differ):
            return -1 if first[differ[0]] < second[differ[0]] else 1
    return 0


def _lies(placed: Placed, patterns: Sequence[Complexes], outward: Complexes, gap: float) -> Ints:
    """Return ranks (F,) that tell how the pieces of one template lie, seen from the middle of the block.

    *Source*: the mean of z^p over an outline's points about its centroid turns by p times the angle by
    which the outline turns, and is 0 unless p is a multiple of the order of its symmetry. So it does
    not change with the way in which a symmetric template was laid on a piece.
    """
    lie = np.zeros(len(placed.template), np.int64)
    for template, points in enumerate(patterns):
        rows = np.flatnonzero(placed.template == template)
        if len(rows) == 1:
            continue
        reach = np.abs(points).max()
        means = ((points / reach)[:, None] ** HARMONICS).mean(axis=0)
        means = np.where(placed.reversed[rows][:, None], means.conj(), means)
        seen = reach * means * (placed.turn[rows] / outward[rows])[:, None] ** HARMONICS
        # An error of the angle counts p times in the p-th mean.
        columns = [
            ranks(part, float(p) * gap)
            for p, mean in zip(HARMONICS, seen.T, strict=True)
            for part in (mean.real, mean.imag)
        ]
        table = np.stack(columns, axis=1)
        lie[rows] = np.unique(table, axis=0, return_inverse=True)[1].reshape(-1)
    return lie
