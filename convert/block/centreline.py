"""Few lines and arcs through the beads of strands, with one sharp point where seams meet.

*Words.* A **span** is one line or arc of a strand between two **stops**: knots, or **bends** of its own. A
knot on the inside of a span **rides** on it: the span goes straight through and other strands end there.

*How.* Each strand is divided into the fewest lines and arcs (geometry/fewest.py). Every stop then moves to
the point nearest, in the least-squares sense, to all curves that end or pass there, prolonged: what the
beads near a knot say is distorted by the ink, what they say a line's width away is not. A line is
the chord of its stops, an arc goes through them, and riders move onto them; that is repeated until
nothing moves. Bends with no corner are smoothed by pairs of arcs with one direction.
"""

from __future__ import annotations

from cmath import phase
from dataclasses import dataclass, replace
from math import pi, radians, tan
from typing import TYPE_CHECKING

import numpy as np

from convert.block.spans import FURTHEST, SKIP, SURE, Span, Stop, place
from convert.geometry.fewest import Curve, fewest_runs, fit_curve
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from convert.block.strands import Bools, Strand, Strands, Track
    from convert.geometry.chain import Floats
    from convert.geometry.fewest import Run
    from convert.geometry.plane import Complexes, Ints

NOISE = 0.012
"""Expected distance of a bead from the middle of the line, in line widths, where the line is evenly wide."""

STEPS = 2.0
"""Where it is not, as after a scan, so many times the scatter of its half width, stretch by stretch."""

FAINT = 0.01
"""Weight of beads that are not sound, when strands are divided: enough to tell where a corner is."""

NORMAL = 0.6745
"""Median distance from the mean over the standard deviation, of a normal distribution."""

AT_KNOT = 1.6
"""A bend so many widths of its line from a knot on the same strand is that knot."""

LARGEST_TURN = radians(150.0)
"""Arcs that turn further are parted."""

ONE_KNOT = 0.5
"""Knots that come nearer than so many line widths are one, if the path between them was short."""


@dataclass(frozen=True, slots=True)
class Seam:
    """One line or arc of the result, and the regions on its left and right."""

    start: complex
    end: complex
    bulge: float
    left: int
    right: int


def seams(found: Strands, width: float) -> tuple[list[Seam], frozenset[int]]:
    """Return the lines and arcs along all strands; those that meet in a knot have one point in common.

    Also return the numbers of the paths that have come to nothing: their two knots are one knot really.
    """
    knots = [Stop(complex(*p), complex(*p), k) for k, p in enumerate(found.knots.tolist())]
    for k in np.flatnonzero(found.placed).tolist():
        knots[k].staying = SURE
        knots[k].touching = bool(found.touching[k])
    rows = [_divided(strand, knots, width, found.bead) for strand in found.strands]
    place([span for _, spans in rows for span in spans], width)
    short = frozenset(
        track.path
        for tracks, _ in rows
        for track in tracks
        if track.first >= 0 <= track.last != track.first
        and track.length <= FURTHEST * width
        and _are_one(knots[track.first], knots[track.last], width)
    )
    return [seam for tracks, spans in rows for seam in _cut(tracks, spans)], short


def _are_one(one: Stop, other: Stop, width: float) -> bool:
    """Tell whether two knots have come to one place, or even passed each other."""
    now, before = other.z - one.z, other.told - one.told
    return abs(now) < ONE_KNOT * width or (now * before.conjugate()).real <= 0.0


def _divided(
    strand: Strand, knots: list[Stop], width: float, bead: float
) -> tuple[tuple[Track, ...], list[Span]]:
    """Return a strand's tracks (a closed one begun at a bend, if it has one) and its spans."""
    tracks = strand.tracks
    runs = _runs(tracks, width, bead, ring=False)
    if strand.closed and len(runs) > 1:
        tracks = _begun(tracks, runs[1].first, round(AT_KNOT / bead))
        runs = _runs(tracks, width, bead, ring=True)
    beads = to_complex(np.concatenate([t.points for t in tracks]))
    sound = np.concatenate([t.sound for t in tracks])
    # A place is a number of beads that come before it.
    places = np.cumsum([0, *(len(t.points) for t in tracks)]).tolist()
    numbers = [tracks[0].first, *(t.last for t in tracks)]
    marks = [(place, k) for place, k in zip(places, numbers, strict=True) if k >= 0]
    near = np.maximum(1.0, 2 * np.concatenate([t.half for t in tracks]) / width) * (AT_KNOT / bead)
    runs, ends = _joints(runs, marks, (numbers[0], numbers[-1]), sound, near)
    stops = [knots[k] if k >= 0 else _bend(beads, place) for place, k in ends]
    if strand.closed:
        stops[-1] = stops[0]
    spans = []
    for k, run in enumerate(runs):
        inside = [(place, knots[n]) for place, n in marks if ends[k][0] < place < ends[k + 1][0]]
        apart = round(FURTHEST / bead)
        spans += _as_spans(run, beads, sound, (stops[k], stops[k + 1]), inside, apart)
    if strand.closed and len(runs) == 1:
        # One curve all the way round passes through its beginning too.
        stops[0].passed = spans[0].curve
    return tracks, spans


def _runs(tracks: tuple[Track, ...], width: float, bead: float, *, ring: bool) -> list[Run]:
    points = to_complex(np.concatenate([t.points for t in tracks]))
    weight = np.where(np.concatenate([t.sound for t in tracks]), 1.0, FAINT)
    scatter = float(np.median(np.abs(np.concatenate([t.uneven for t in tracks])))) / NORMAL
    noise = float(np.hypot(NOISE * width, STEPS * scatter))
    skip = max(1, round(SKIP / bead))
    return fewest_runs(points, weight, bead * width, noise=noise, width=width, skip=skip, ring=ring)


def _begun(tracks: tuple[Track, ...], bead: int, near: int) -> tuple[Track, ...]:
    """Return the tracks of a closed strand begun at a bead, or at a knot within `near` beads of it."""
    before = 0
    for k, track in enumerate(tracks):
        at, size = bead - before, len(track.points)
        if at < size:
            if at <= near and track.first >= 0:
                return (*tracks[k:], *tracks[:k])
            if size - at <= near and track.last >= 0:
                return (*tracks[k + 1 :], *tracks[: k + 1])
            head = replace(_part(track, slice(0, at)), last=-1)
            tail = replace(_part(track, slice(at, None)), first=-1)
            return (tail, *tracks[k + 1 :], *tracks[:k], *([head] if at else []))
        before += size
    return tracks


def _part(track: Track, part: slice) -> Track:
    return replace(
        track,
        points=track.points[part],
        half=track.half[part],
        uneven=track.uneven[part],
        sound=track.sound[part],
    )


def _joints(
    runs: list[Run], marks: list[tuple[int, int]], outer: tuple[int, int], sound: Bools, near: Floats
) -> tuple[list[Run], list[tuple[float, int]]]:
    """Return the runs that are left, and the places (and knots) where they begin and end.

    A joint no more than `near` (n,) beads from a knot is that knot. A run that has no room beside the knots
    that its ends have become is left out.
    """
    count = len(sound)
    ends: list[tuple[float, int]] = [(0.0, outer[0])]
    kept: list[Run] = []
    for k, run in enumerate(runs):
        end: tuple[float, int] = (float(count), outer[1])
        if k + 1 < len(runs):
            low, high = run.last, runs[k + 1].first
            end = ((low + high) / 2, -1)
            # Where no bead is sound, nothing tells the place of the joint but a knot that lies there.
            while low > 0 and not sound[low - 1]:
                low -= 1
            while high < count and not sound[high]:
                high += 1
            reach = float(near[min(int(end[0]), count - 1)])
            close = [m for m in marks if low - reach <= m[0] <= high + reach]
            if close:
                place, number = min(close, key=lambda m: abs(m[0] - end[0]))
                end = (float(place), number)
        if end[0] > ends[-1][0] + 0.5:
            kept.append(run)
            ends.append(end)
    if not kept:
        return runs[:1], [ends[0], (float(count), outer[1])]
    ends[-1] = (float(count), outer[1])
    return kept, ends


def _bend(beads: Complexes, place: float) -> Stop:
    low = min(max(int(np.ceil(place)) - 1, 0), len(beads) - 1)
    high = min(int(place), len(beads) - 1)
    z = complex(beads[low] + beads[high]) / 2
    return Stop(z, z)


def _as_spans(
    run: Run,
    beads: Complexes,
    sound: Bools,
    stops: tuple[Stop, Stop],
    riders: list[tuple[int, Stop]],
    apart: int,
) -> list[Span]:
    """Return a run as one span, or as several, parted `apart` beads from riders, where an arc turns far."""
    own = beads[run.first : run.last]
    use = sound[run.first : run.last]
    if np.count_nonzero(use) < (3 if run.arc else 2):
        use = np.ones(len(own), bool)
    if len(own) < 2:
        own, use = np.array([stops[0].z, stops[1].z]), np.ones(2, bool)
    curve = fit_curve(own, use.astype(float), arc=run.arc)
    if curve.curvature == 0.0:
        return [Span(*stops, curve, own[use], [stop for _, stop in riders])]
    middle = curve.through + 1j * curve.along / curve.curvature
    turned = np.unwrap(np.angle(np.concatenate(([stops[0].z], own, [stops[1].z])) - middle))
    turned = np.abs(turned - turned[0])
    parts = max(int(np.ceil(turned[-1] / LARGEST_TURN)), 3 if stops[0] is stops[1] else 1)
    cuts = np.searchsorted(turned, turned[-1] * np.arange(1, parts) / parts)
    cuts = _clear_of([place - run.first for place, _ in riders], cuts, len(own), apart)
    bends = []
    for c in cuts.tolist():
        z = curve.foot(complex(own[min(max(c - 1, 0), len(own) - 1)]))
        bends.append(Stop(z, z))
    row = [stops[0], *bends, stops[1]]
    place = np.array([-1, *(run.first + cuts - 1), len(beads) + 1])
    at = np.arange(run.first, run.first + len(own))
    return [
        Span(
            row[k],
            row[k + 1],
            curve,
            own[use & (at >= place[k]) & (at < place[k + 1])],
            [stop for p, stop in riders if place[k] < p <= place[k + 1]],
        )
        for k in range(parts)
    ]


def _clear_of(marks: list[int], cuts: Ints, count: int, apart: int) -> Ints:
    """Return places to part an arc of `count` beads near `cuts`, well away from the knots that ride on it."""
    reach = min(apart, count // (3 * (len(cuts) + 1)))
    if not marks or not len(cuts):
        return cuts
    near = cuts[:, None] + np.arange(-reach, reach + 1)
    away = np.abs(near[:, :, None] - np.array(marks)).min(axis=2)
    return np.asarray(near[np.arange(len(cuts)), away.argmax(axis=1)], np.intp)


def _cut(tracks: tuple[Track, ...], spans: list[Span]) -> list[Seam]:
    """Return a strand's segments, cut where knots ride on them, with the regions of the track they follow."""
    row = []
    track = 0
    for span in spans:
        riders = list(span.riders)
        for number, (p, q, bulge) in enumerate(span.parts):
            curve = Curve.of(p, q, bulge)
            here = p
            done = 0.0
            last_part = number == len(span.parts) - 1
            while riders and (last_part or _share(curve, p, q, riders[0].z) < 1.0):
                stop = riders.pop(0)
                share = min(max(_share(curve, p, q, stop.z), done), 1.0)
                row.append(_seam(here, stop.z, bulge, share - done, tracks[track]))
                here, done = stop.z, share
                track += 1
            row.append(_seam(here, q, bulge, 1.0 - done, tracks[track]))
        if span.last.knot >= 0:
            track += 1
    return [seam for seam in row if seam.start != seam.end]


def _share(curve: Curve, p: complex, q: complex, z: complex) -> float:
    """Return at which share of a segment's length a point on it lies (inscribed angle)."""
    if z == p:
        return 0.0
    if q == p:
        return 1.0
    if curve.curvature == 0.0:
        return ((z - p) / (q - p)).real
    angle, whole = phase((z - p) / curve.along), phase((q - p) / curve.along)
    # What lies behind the start has gone by nothing, not by nearly all.
    return angle / whole if whole and abs(angle) <= pi / 2 else 0.0


def _seam(start: complex, end: complex, bulge: float, share: float, track: Track) -> Seam:
    part = tan(np.arctan(bulge) * share) if bulge else 0.0
    return Seam(start, end, float(part), track.left, track.right)
