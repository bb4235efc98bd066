"""Congruence classes: which pieces can be cut from one template.

Being within a tolerance is not transitive, so a class is not "everything that chains together": it is
one piece, the *pattern*, and all pieces that can be laid within the tolerance of it. The pattern is
the member nearest to the mean of its neighbourhood, which does not depend on the order of the
drawing, nor on how it is turned.

Laying on by turning is tried before flipping, so a shape that is its own mirror image has no
reversed pieces.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.congruence import (
    STEPS,
    Figure,
    Fits,
    fit_freely,
    fit_knots,
    flipped_knots,
    knots_of,
    rolled,
    similarity,
    traits,
)
from convert.block.plain import neighbours
from convert.geometry.measure import end_tangent, start_tangent
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.congruence import Complexes
    from convert.block.model import Ints
    from convert.block.pieces import Faces
    from convert.block.plain import Outlines
    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances

    Bools = NDArray[np.bool_]

SHARE = 0.01
"""Small pieces are told apart more finely: no further than this share of the square root of their area."""

BEND = 0.1
"""A vertex at which an outline turns by less (radians) may stand elsewhere in an equal outline."""

NEARLY = 10.0
"""Shapes within so many times the tolerance of each other are pointed out: perhaps one was meant."""


@dataclass(frozen=True, slots=True)
class Member:
    """One piece of a shape: `placement` lays the pattern on it, at most `misfit` mm apart."""

    face: int
    placement: Similarity
    misfit: float

    @property
    def reversed(self) -> bool:
        """Whether the pattern has to be flipped over."""
        return self.placement.flipped


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One congruence class: the face of its pattern, its members, and whether it is its own mirror image."""

    pattern: int
    members: tuple[Member, ...]
    own_mirror: bool


@dataclass(frozen=True, slots=True)
class NearMiss:
    """Two shapes, by number, that nearly share a template, and how far apart they are, in mm."""

    first: int
    second: int
    misfit: float


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """What the passes share: the pieces, their plain outlines (ring by ring), how far each may miss."""

    faces: Faces
    outlines: Outlines
    limit: Floats
    size: Ints
    loose: Bools

    @classmethod
    def of(cls, faces: Faces, outlines: Outlines, tolerances: Tolerances) -> Comparison:
        """Count the vertices of every piece; an outline is loose if it could be drawn with other vertices."""
        limit = np.minimum(tolerances.shape, SHARE * np.sqrt(np.abs(faces.area)))
        before, _ = neighbours(outlines.start)
        table = outlines.table
        bend = (end_tangent(table)[before] * start_tangent(table)).sum(axis=1) < np.cos(BEND)
        loose = table.is_arc | ~bend
        by_ring = np.logical_or.reduceat(loose, outlines.start[:-1])
        return cls(faces, outlines, limit, np.diff(outlines.start)[faces.outer], by_ring[faces.outer])

    def knots(self, which: Ints) -> Complexes:
        """Return the knots of faces with one common number of vertices."""
        return knots_of(self.outlines, self.faces.outer[which], int(self.size[which[0]]))

    def figure(self, face: int) -> Figure:
        """Return one face, holes and all, for the free comparison."""
        return Figure.of(self.outlines, (int(self.faces.outer[face]), *self.faces.holes[face]))


def find_shapes(faces: Faces, outlines: Outlines, tolerances: Tolerances) -> tuple[Shape, ...]:
    """Sort pieces into congruence classes, in no particular order.

    `outlines` are the plain outlines of all rings of `faces`. Every member lies within
    `tolerances.shape` of its pattern (small pieces: within SHARE of the square root of their area).
    """
    work = Comparison.of(faces, outlines, tolerances)
    holed = np.array([bool(h) for h in faces.holes], bool)
    shapes: list[Shape] = []
    for count in np.unique(work.size[~holed]).tolist():
        shapes += _by_knots(work, np.flatnonzero((work.size == count) & ~holed))
    alone = Similarity()
    shapes += [Shape(f, (Member(f, alone, 0.0),), own_mirror=False) for f in np.flatnonzero(holed).tolist()]
    return tuple(_is_mirror(work, shape) for shape in _joined(work, shapes))


@dataclass(frozen=True, slots=True, eq=False)
class _Bucket:
    """Pieces with one number of vertices, sorted by a trait so that near ones are found in a window."""

    which: Ints
    knots: Complexes
    marks: Floats
    order: Ints
    key: Floats

    @classmethod
    def of(cls, work: Comparison, which: Ints) -> _Bucket:
        knots = work.knots(which)
        marks = traits(knots)
        mean = marks.mean(axis=1)
        order = np.argsort(mean, kind="stable")
        return cls(which, knots, marks, order, mean[order])

    def near(self, piece: int, distance: float) -> Ints:
        """Return the pieces (numbers in the bucket, ascending) that may lie within `distance` of one."""
        mean = self.marks[piece].mean()
        distance *= 1 + 1e-9
        low, high = np.searchsorted(self.key, (mean - distance, mean + distance))
        found = np.sort(self.order[low:high])
        return np.asarray(found[np.abs(self.marks[found] - self.marks[piece]).max(axis=1) <= distance])


def _by_knots(work: Comparison, which: Ints) -> list[Shape]:
    """Sort pieces with one number of vertices, largest first."""
    bucket = _Bucket.of(work, which)
    free = np.ones(len(which), bool)
    shapes = []
    for seed in np.argsort(-work.faces.area[which], kind="stable").tolist():
        # The pattern that its first shape leads to may not take that shape in; then it leads to another one.
        while free[seed]:
            pattern = _pattern(bucket, free, seed, float(work.limit[which[seed]]))
            limit = float(work.limit[which[pattern]])
            near = bucket.near(pattern, limit)
            near = near[free[near]]
            members = _members(bucket, pattern, near, limit)
            free[[m[0] for m in members]] = False
            own = bucket.knots[pattern][None]
            mirror = fit_knots(flipped_knots(own), own).misfit[0] <= limit
            shapes.append(
                Shape(
                    int(which[pattern]),
                    tuple(Member(int(which[i]), placement, misfit) for i, placement, misfit in members),
                    bool(mirror),
                )
            )
    return shapes


def _members(bucket: _Bucket, pattern: int, near: Ints, limit: float) -> list[tuple[int, Similarity, float]]:
    """Return (piece, placement, misfit) of those of `near` that can be cut from the pattern."""
    own = bucket.knots[pattern][None]
    found = []
    same = fit_knots(own, bucket.knots[near])
    fits = same.misfit <= limit
    found += _placements(near[fits], same, np.flatnonzero(fits), flipped=False)
    rest = near[~fits]
    if len(rest):
        over = fit_knots(own, flipped_knots(bucket.knots[rest]))
        fits = over.misfit <= limit
        found += _placements(rest[fits], over, np.flatnonzero(fits), flipped=True)
    # The pattern lies on itself exactly.
    return sorted(((i, Similarity(), 0.0) if i == pattern else (i, s, m)) for i, s, m in found)


def _placements(
    pieces: Ints, fits: Fits, rows: Ints, *, flipped: bool
) -> list[tuple[int, Similarity, float]]:
    turn, shift, misfit = fits.turn[rows].tolist(), fits.shift[rows].tolist(), fits.misfit[rows].tolist()
    return [
        (piece, similarity(t, s, flipped=flipped), m)
        for piece, t, s, m in zip(pieces.tolist(), turn, shift, misfit, strict=True)
    ]


def _pattern(bucket: _Bucket, free: Bools, seed: int, limit: float) -> int:
    """Return the piece nearest to the mean of the free pieces within twice the tolerance of the seed."""
    near = bucket.near(seed, 2 * limit)
    near = near[free[near]]
    own = bucket.knots[seed][None]
    knots = bucket.knots[near]
    fits = fit_knots(own, knots)
    if fits.misfit.max() <= limit * 1e-3:
        return seed
    over = fit_knots(own, flipped_knots(knots))
    flip = over.misfit < fits.misfit
    flip &= fits.misfit > limit
    turn, shift = np.where(flip, over.turn, fits.turn), np.where(flip, over.shift, fits.shift)
    first = np.where(flip, over.first, fits.first)
    close = np.minimum(fits.misfit, np.where(flip, over.misfit, np.inf)) <= 2 * limit
    if close.sum() <= 2:
        return seed
    knots = np.where(flip[:, None, None], flipped_knots(knots), knots)[close]
    laid = (rolled(knots, first[close]) - shift[close, None, None]) * turn[close, None, None].conj()
    off = (np.abs(laid - laid.mean(axis=0)) ** 2).sum(axis=(1, 2))
    # Equal pieces are equally near but for rounding: take the first of them.
    best = np.flatnonzero(off <= off.min() + (1e-6 * limit) ** 2)[0]
    return int(near[close][best])


def _joined(work: Comparison, shapes: list[Shape]) -> list[Shape]:
    """Join shapes whose outlines agree although their vertices stand elsewhere."""
    area, perimeter = work.faces.area, work.faces.perimeter
    filled = work.faces.rings.area[work.faces.outer]
    shapes = sorted(shapes, key=lambda s: (-len(s.members), work.size[s.pattern], -area[s.pattern]))
    pattern = np.array([s.pattern for s in shapes], np.int64)
    area, perimeter, limit = area[pattern], perimeter[pattern], work.limit[pattern]
    filled = filled[pattern]
    size, loose = work.size[pattern], work.loose[pattern]
    holes = np.array([len(h) for h in work.faces.holes], np.int64)[pattern]
    figures: dict[int, Figure] = {}

    def figure(n: int) -> Figure:
        if n not in figures:
            figures[n] = work.figure(shapes[n].pattern)
        return figures[n]

    gone = np.zeros(len(shapes), bool)
    for i in range(len(shapes)):
        if gone[i]:
            continue
        alike = (np.abs(area - area[i]) <= 2 * limit[i] * perimeter[i]) & (holes == holes[i]) & ~gone
        # Rings of one width in each other have nearly one area, but not with their holes filled.
        alike &= np.abs(filled - filled[i]) <= 2 * limit[i] * perimeter[i]
        alike &= np.abs(perimeter - perimeter[i]) <= 8 * limit[i] + 0.01 * perimeter[i]
        # Outlines with as many vertices, all of them real corners, were compared knot by knot already.
        alike &= (size != size[i]) | loose | loose[i] | (holes > 0)
        alike[: i + 1] = False
        for j in np.flatnonzero(alike).tolist():
            found = _free_fit(figure(i), figure(j), float(limit[i]))
            if found is None:
                continue
            members = _carried(work, figure(i), shapes[j], found, float(limit[i]))
            if members is not None:
                shapes[i] = replace(shapes[i], members=shapes[i].members + members)
                gone[j] = True
    return [s for s, away in zip(shapes, gone.tolist(), strict=True) if not away]


def _free_fit(a: Figure, b: Figure, limit: float) -> tuple[Similarity, float] | None:
    """Return a placement of a on b within the limit, flipped only if turning is not enough, or None."""
    slack = 3 * limit + a.perimeter / (STEPS // 2)
    if np.abs(a.traits() - b.traits()).max() > slack:
        return None
    turn, shift, misfit = fit_freely(a, b, limit)
    if misfit <= limit:
        return similarity(turn, shift), misfit
    # Flipping b instead of a: b' = turn a + shift, so b is its conjugate.
    turn, shift, misfit = fit_freely(a, b.flipped(), limit)
    if misfit <= limit:
        return similarity(turn, shift, flipped=True), misfit
    return None


def _carried(
    work: Comparison, own: Figure, other: Shape, found: tuple[Similarity, float], limit: float
) -> tuple[Member, ...] | None:
    """Return the members of `other` as members of the pattern `own`; None when one misses it by too much."""
    across, apart = found
    members = []
    for m in other.members:
        if m.misfit + apart <= limit:
            members.append(Member(m.face, m.placement.after(across), m.misfit + apart))
            continue
        directly = _free_fit(own, work.figure(m.face), limit)
        if directly is None:
            return None
        members.append(Member(m.face, *directly))
    return tuple(members)


def _is_mirror(work: Comparison, shape: Shape) -> Shape:
    """Settle whether a shape is its own mirror image: then no member is reversed."""
    if shape.own_mirror and not any(m.reversed for m in shape.members):
        return shape
    if not (work.loose[shape.pattern] or work.faces.holes[shape.pattern]):
        return replace(shape, own_mirror=False)
    figure, limit = work.figure(shape.pattern), float(work.limit[shape.pattern])
    turn, shift, misfit = fit_freely(figure, figure.flipped(), limit)
    if misfit > limit:
        return replace(shape, own_mirror=False)
    # Knots may have said "reversed" only because of a vertex that is no corner.
    mirror = similarity(turn, shift, flipped=True)
    members = []
    for m in shape.members:
        if not m.reversed:
            members.append(m)
        elif m.misfit + misfit <= limit:
            members.append(Member(m.face, m.placement.after(mirror), m.misfit + misfit))
        else:
            turn, shift, directly = fit_freely(figure, work.figure(m.face), limit)
            if directly > limit:
                return replace(shape, own_mirror=False)
            members.append(Member(m.face, similarity(turn, shift), directly))
    return replace(shape, members=tuple(members), own_mirror=True)


def near_misses(
    shapes: tuple[Shape, ...], faces: Faces, outlines: Outlines, tolerances: Tolerances
) -> tuple[NearMiss, ...]:
    """Return, for each shape that lies within NEARLY tolerances of another, the nearest such pair.

    Only outlines with the same number of vertices are compared: that is what a slip of the hand leaves.
    Shapes with holes are left out: a ring is not nearly a disc, however alike their outlines are.
    """
    work = Comparison.of(faces, outlines, tolerances)
    pattern = np.array([s.pattern for s in shapes], np.int64)
    size = work.size[pattern]
    whole = np.array([not faces.holes[p] for p in pattern.tolist()], bool)
    pairs: dict[tuple[int, int], NearMiss] = {}
    for count in np.unique(size).tolist():
        rows = np.flatnonzero((size == count) & whole)
        if len(rows) < 2:
            continue
        bucket = _Bucket.of(work, pattern[rows])
        for i in range(len(rows)):
            limit = float(work.limit[pattern[rows[i]]]) * NEARLY
            near = bucket.near(i, limit)
            near = near[near != i]
            if not len(near):
                continue
            own = bucket.knots[i][None]
            off = np.minimum(
                fit_knots(own, bucket.knots[near]).misfit,
                fit_knots(own, flipped_knots(bucket.knots[near])).misfit,
            )
            j = int(np.argmin(off))
            if off[j] <= limit:
                first, second = sorted((int(rows[i]), int(rows[near[j]])))
                pairs[first, second] = NearMiss(first, second, float(off[j]))
    return tuple(pairs[key] for key in sorted(pairs))
