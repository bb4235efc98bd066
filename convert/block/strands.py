"""From the network half way between regions to strands: lines that somebody drew in one go.

*Words.* A **knot** is a place where seams meet: one junction of the network, or several that are nearer to
each other than the lines are wide. A **track** is a path of the network as evenly spaced **beads** (points
with the line's half width), from knot to knot. Near a knot, and wherever the ink is wider than the line,
beads say nothing about its middle: those are not **sound**. A **strand** is a row of tracks, each going
on straight, or in one curve, where the one before it ended: the bar of a T is one strand and its stem
ends on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.snapping import components
from convert.geometry.fewest import misfit
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.medial import Network, Path
    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

BEAD = 2.0
"""Distance between beads, in distances between samples: a few of these are averaged for each."""

MOST_BEADS, COARSEST = 8000, 4.0
"""Where there would be more beads than this, they lie farther apart, but so many line widths at most."""

SHORT = 0.8
"""A path between two junctions that is shorter than so many line widths joins them."""

BLOT, BLOT_LENGTH = 1.15, 4.0
"""So does one along which the ink is so much wider than a line throughout, up to a length in line widths."""

UNSOUND = 0.08
"""Beads whose half width differs by a larger share from what is usual round them are not sound."""

ROUND = 8.0
"""Round a bead means so many line widths on each side: a scanned line is a pixel wider here and there."""

NEAR_KNOT = 0.8
"""Nor are those nearer than this to a knot, in line widths. Lines at right angles part half a width from it,
and a bead tells of a sixth of one round it; what is left out beyond that must be guessed on bent lines."""

BEYOND = 1.5
"""Ink that is too wide up to some distance from a knot is hardly to be trusted up to so many times that."""

LOOK = 6.0
"""Two tracks go on in each other if so many line widths of both lie on one line or arc …"""
STRAY = 0.06
"""… within this root mean square distance, in line widths …"""
STRAIGHT_ON = np.cos(np.radians(150.0))
"""… and leave the knot in nearly opposite directions."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Beads from knot `first` to knot `last` (-1: none): `points` (n, 2), `sound` (n,); see also Path.

    `path` is the number of the path in its network, `length` its length in mm. `half` (n,) is the usual
    half width round each bead, and `uneven` (n,) how much more it is than is usual on the track.
    """

    path: int
    length: float
    points: Floats
    half: Floats
    uneven: Floats
    sound: Bools
    first: int
    last: int
    left: int
    right: int
    closed: bool

    def reversed(self) -> Track:
        """Return the same track walked the other way."""
        return replace(
            self,
            points=self.points[::-1],
            half=self.half[::-1],
            uneven=self.uneven[::-1],
            sound=self.sound[::-1],
            first=self.last,
            last=self.first,
            left=self.right,
            right=self.left,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """Tracks one after another, each turned to lead on; `closed` when the last leads back to the first."""

    tracks: tuple[Track, ...]
    closed: bool


@dataclass(frozen=True, slots=True, eq=False)
class Strands:
    """All strands, and where the knots are, as well as the network tells: (k, 2)."""

    strands: tuple[Strand, ...]
    knots: Floats
    lost: tuple[int, ...]
    """Regions but the outside of which nothing is left, because all their paths are inside knots."""
    bead: float
    """Distance between beads in line widths."""
    placed: Bools
    """(k,): whether the place of a knot is known otherwise than by the lines that end there."""
    touching: Bools
    """(k,): whether two lines run in one direction at a knot."""


def strands(net: Network, width: float, spacing: float, joining: frozenset[int] = frozenset()) -> Strands:
    """Return the strands of a network drawn with lines about `width` mm wide, of samples `spacing` mm apart.

    The paths whose numbers are in `joining` make one knot of their two junctions, as all very short ones do.
    """
    inside = [k in joining or _inside_knot(p, width) for k, p in enumerate(net.paths)]
    inner = [p for p, within in zip(net.paths, inside, strict=True) if within]
    first = np.array([p.first for p in inner], np.int64)
    last = np.array([p.last for p in inner], np.int64)
    group, knot = np.unique(components(len(net.junctions), first, last), return_inverse=True)
    count = np.bincount(knot, minlength=len(group))[:, None]
    place = np.stack([np.bincount(knot, net.junctions[:, k], len(group)) for k in (0, 1)], axis=1) / count
    length = sum(map(_length, net.paths))
    bead = max(BEAD * spacing / width, min(COARSEST, length / (MOST_BEADS * width)))
    tracks = [_track(k, p, knot, width, bead) for k, p in enumerate(net.paths) if not inside[k]]
    seen = {r for t in tracks for r in (t.left, t.right)}
    lost = sorted({r for p in inner for r in (p.left, p.right)} - seen - {0})
    placed, touching = np.zeros((2, len(group)), bool)
    placed[knot[sorted(net.placed)]] = True
    touching[knot[sorted(net.touching)]] = True
    return Strands(_chained(tracks, width, bead), place, tuple(lost), bead, placed, touching)


def _length(path: Path) -> float:
    return float(np.hypot(*np.diff(path.points, axis=0).T).sum())


def _inside_knot(path: Path, width: float) -> bool:
    if path.first < 0 or path.last < 0:
        return False
    length = _length(path)
    blot = bool((path.clearance > BLOT * width / 2).all())
    return length < SHORT * width or (blot and length < BLOT_LENGTH * width)


def _track(number: int, path: Path, knot: Ints, width: float, bead: float) -> Track:
    step = np.hypot(*np.diff(path.points, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(step)))
    length = float(along[-1])
    count = max(1, round(length / (bead * width)))
    # Every stretch of the path counts by its length, at its middle.
    middle = (path.points[1:] + path.points[:-1]) / 2
    wide = (path.clearance[1:] + path.clearance[:-1]) / 2
    share = (along[1:] + along[:-1]) / 2 / max(length, 1e-300)
    where = np.minimum(share * count, count - 1).astype(np.int64)
    weight = np.bincount(where, step, count)
    full = weight > 0
    weight = np.where(full, weight, 1.0)
    points = np.stack([np.bincount(where, step * middle[:, k], count) / weight for k in (0, 1)], axis=1)
    wide = np.bincount(where, step * wide, count) / weight
    points, wide = points[full], wide[full]
    at = (np.flatnonzero(full) + 0.5) * (length / count)
    usual = float(np.median(wide))
    there = _usual_round(wide, round(ROUND / bead))
    off = np.abs(wide - there)
    sound = off <= np.maximum(UNSOUND * there, np.minimum(4 * float(np.median(off)), 0.3 * there))
    first = int(knot[path.first]) if path.first >= 0 else -1
    last = int(knot[path.last]) if path.last >= 0 else -1
    if sound.any():
        begin, end = float(at[sound][0]), length - float(at[sound][-1])
        if first >= 0:
            sound &= at >= _clear(begin, length, width)
        if last >= 0:
            sound &= at <= length - _clear(end, length, width)
    return Track(
        number, length, points, there, wide - usual, sound, first, last, path.left, path.right, path.closed
    )


def _usual_round(wide: Floats, reach: int) -> Floats:
    """Return for each bead the median of the half widths round it."""
    reach = min(reach, (len(wide) - 1) // 2)
    middle = np.median(np.lib.stride_tricks.sliding_window_view(wide, 2 * reach + 1), axis=1)
    out: Floats = np.pad(middle, reach, mode="edge")
    return out


def _clear(wide: float, length: float, width: float) -> float:
    """Return how far from a knot beads are not sound, if the ink is too wide up to `wide` from it."""
    return min(max(NEAR_KNOT * width, BEYOND * wide), max(length / 4, wide))


def _chained(tracks: list[Track], width: float, bead: float) -> tuple[Strand, ...]:
    """Join tracks to strands. Ends are numbered 2 × track for its first bead, 2 × track + 1 for its last."""
    partner = _partners(tracks, width, round(LOOK / bead))
    used = [False] * len(tracks)
    found = []
    ends = [e for e in range(2 * len(tracks)) if partner[e] < 0]
    for begin in (*ends, *range(0, 2 * len(tracks), 2)):
        if used[begin // 2]:
            continue
        row = []
        end = begin
        while end >= 0 and not used[end // 2]:
            used[end // 2] = True
            track = tracks[end // 2]
            row.append(track if end % 2 == 0 else track.reversed())
            end = partner[end ^ 1]
        found.append(Strand(tuple(row), end == begin or row[0].closed))
    return tuple(found)


def _partners(tracks: list[Track], width: float, look: int) -> list[int]:
    """Return for each end of a track the end in which it goes on beyond its knot, -1 for none."""
    at: dict[int, list[int]] = {}
    for k, track in enumerate(tracks):
        for end, knot in ((2 * k, track.first), (2 * k + 1, track.last)):
            if knot >= 0:
                at.setdefault(knot, []).append(end)
    partner = [-1] * (2 * len(tracks))
    for ends in at.values():
        near = {e: _near_end(tracks[e // 2], look, last=e % 2 == 1) for e in ends}
        way = {e: _direction(near[e]) for e in ends}
        pairs = []
        for i, a in enumerate(ends):
            for b in ends[i + 1 :]:
                if float(way[a] @ way[b]) < STRAIGHT_ON:
                    both = np.concatenate((near[a][::-1], near[b]))
                    stray = misfit(to_complex(both))
                    if stray <= STRAY * width:
                        pairs.append((stray, a, b))
        for _, a, b in sorted(pairs):
            if partner[a] < 0 and partner[b] < 0:
                partner[a], partner[b] = b, a
    return partner


def _near_end(track: Track, look: int, *, last: bool) -> Floats:
    """Return the sound beads near one end, from there on; all beads where none is sound."""
    sound = track.points[track.sound]
    points = sound if len(sound) >= 2 else track.points
    points = points[::-1] if last else points
    return points[: max(2, look)]


def _direction(points: Floats) -> Floats:
    if len(points) < 2:
        return np.zeros(2)
    half = max(1, len(points) // 2)
    way = points[half:].mean(axis=0) - points[:half].mean(axis=0)
    out: Floats = way / max(float(np.hypot(*way)), 1e-300)
    return out
