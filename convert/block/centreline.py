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
from dataclasses import dataclass, field, replace
from math import pi, radians, sqrt, tan
from typing import TYPE_CHECKING

import numpy as np

from convert.block.strands import BEAD
from convert.geometry.fewest import Curve, fewest_runs, fit_curve
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from convert.block.strands import Bools, Strand, Strands, Track
    from convert.geometry.fewest import Run
    from convert.geometry.plane import Complexes

NOISE = 0.02
"""Expected distance of a bead from the middle of the line, in line widths."""

SKIP = 1.6
"""A corner may be drawn rounded over so many line widths."""

AT_KNOT = 1.6
"""A bend so many line widths from a knot on the same strand is that knot."""

LARGEST_TURN = radians(150.0)
"""Arcs that turn further are parted."""

CORNER = radians(12.0)
"""Bends by less, of which one side is an arc, are smooth."""

NEAR_TANGENT = 8.0
"""A smooth bend is where the two curves run in one direction, if that is so many line widths away at most."""

SINGLE = 2e-3
"""A single arc may leave a given direction by this: as in geometry/arcspline.py."""

PASSING, STAYING = 1e3, 1e-3
"""Weights of a curve that goes on beyond a stop, and of the place the network tells; one that ends has 1."""

SURE, SLIGHT = 0.3, radians(25.0)
"""Weight of the place of a bend by less than that: the ink there is hardly distorted."""

FURTHEST = 5.0
"""A stop moves at most so many line widths."""

ONE_KNOT = 0.5
"""Knots that come nearer than so many line widths are one, if the path between them was short."""

ROUNDS = 60
SETTLED = 1e-9
"""Millimetres: a round that moves no stop by more is the last."""


@dataclass(slots=True, eq=False)
class _Stop:
    """A knot or bend while it is being placed.

    `told` is where the network has it; `knot` is -1 for a bend. `passed` is a curve that begins and ends here
    without a bend.
    """

    z: complex
    told: complex
    knot: int = -1
    staying: float = STAYING
    passed: Curve | None = None
    ending: list[_Span] = field(default_factory=list)
    rides: list[_Span] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class _Span:
    """A line or arc between two stops while it is being placed.

    `curve` is what the beads say; `riders` are the stops between, in order; `parts` is what has become of
    it: (start, end, bulge), one or two.
    """

    first: _Stop
    last: _Stop
    curve: Curve
    beads: Complexes
    riders: list[_Stop]
    parts: list[tuple[complex, complex, float]] = field(default_factory=list)


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
    knots = [_Stop(complex(*p), complex(*p), k) for k, p in enumerate(found.knots.tolist())]
    rows = [_divided(strand, knots, width) for strand in found.strands]
    _place([span for _, spans in rows for span in spans], width)
    short = frozenset(
        track.path
        for tracks, _ in rows
        for track in tracks
        if track.first >= 0 <= track.last != track.first
        and track.length <= FURTHEST * width
        and abs(knots[track.first].z - knots[track.last].z) < ONE_KNOT * width
    )
    return [seam for tracks, spans in rows for seam in _cut(tracks, spans)], short


def _divided(strand: Strand, knots: list[_Stop], width: float) -> tuple[tuple[Track, ...], list[_Span]]:
    """Return a strand's tracks (a closed one begun at a bend, if it has one) and its spans."""
    tracks = strand.tracks
    runs = _runs(tracks, width, ring=False)
    if strand.closed and len(runs) > 1:
        tracks = _begun(tracks, runs[1].first)
        runs = _runs(tracks, width, ring=True)
    beads = to_complex(np.concatenate([t.points for t in tracks]))
    sound = np.concatenate([t.sound for t in tracks])
    # A place is a number of beads that come before it.
    places = np.cumsum([0, *(len(t.points) for t in tracks)]).tolist()
    numbers = [tracks[0].first, *(t.last for t in tracks)]
    marks = [(place, k) for place, k in zip(places, numbers, strict=True) if k >= 0]
    runs, ends = _joints(runs, marks, (numbers[0], numbers[-1]), sound)
    stops = [knots[k] if k >= 0 else _bend(beads, place) for place, k in ends]
    if strand.closed:
        stops[-1] = stops[0]
    spans = []
    for k, run in enumerate(runs):
        inside = [(place, knots[n]) for place, n in marks if ends[k][0] < place < ends[k + 1][0]]
        spans += _as_spans(run, beads, sound, (stops[k], stops[k + 1]), inside)
    if strand.closed and len(runs) == 1:
        # One curve all the way round passes through its beginning too.
        stops[0].passed = spans[0].curve
    return tracks, spans


def _runs(tracks: tuple[Track, ...], width: float, *, ring: bool) -> list[Run]:
    points = to_complex(np.concatenate([t.points for t in tracks]))
    sound = np.concatenate([t.sound for t in tracks]).astype(float)
    skip = round(SKIP / BEAD)
    return fewest_runs(
        points, sound, BEAD * width, noise=NOISE * width, width=width, skip=skip, ring=ring
    )


def _begun(tracks: tuple[Track, ...], bead: int) -> tuple[Track, ...]:
    """Return the tracks of a closed strand begun at a bead, or at a knot as near as a bend may be."""
    before = 0
    for k, track in enumerate(tracks):
        at, size = bead - before, len(track.points)
        near = round(AT_KNOT / BEAD)
        if at < size:
            if at <= near and track.first >= 0:
                return (*tracks[k:], *tracks[:k])
            if size - at <= near and track.last >= 0:
                return (*tracks[k + 1 :], *tracks[: k + 1])
            head = replace(track, points=track.points[:at], sound=track.sound[:at], last=-1)
            tail = replace(track, points=track.points[at:], sound=track.sound[at:], first=-1)
            return (tail, *tracks[k + 1 :], *tracks[:k], *([head] if at else []))
        before += size
    return tracks


def _joints(
    runs: list[Run], marks: list[tuple[int, int]], outer: tuple[int, int], sound: Bools
) -> tuple[list[Run], list[tuple[float, int]]]:
    """Return the runs that are left, and the places (and knots) where they begin and end.

    A run that has no room beside the knots that its ends have become is left out.
    """
    near, count = AT_KNOT / BEAD, len(sound)
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
            close = [m for m in marks if low - near <= m[0] <= high + near]
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


def _bend(beads: Complexes, place: float) -> _Stop:
    low = min(max(int(np.ceil(place)) - 1, 0), len(beads) - 1)
    high = min(int(place), len(beads) - 1)
    z = complex(beads[low] + beads[high]) / 2
    return _Stop(z, z)


def _as_spans(
    run: Run, beads: Complexes, sound: Bools, stops: tuple[_Stop, _Stop], riders: list[tuple[int, _Stop]]
) -> list[_Span]:
    """Return a run as one span, or as several where an arc turns far."""
    own = beads[run.first : run.last]
    use = sound[run.first : run.last]
    if np.count_nonzero(use) < (3 if run.arc else 2):
        use = np.ones(len(own), bool)
    if len(own) < 2:
        own, use = np.array([stops[0].z, stops[1].z]), np.ones(2, bool)
    curve = fit_curve(own, use.astype(float), arc=run.arc)
    if curve.curvature == 0.0:
        return [_Span(*stops, curve, own[use], [stop for _, stop in riders])]
    middle = curve.through + 1j * curve.along / curve.curvature
    turned = np.unwrap(np.angle(np.concatenate(([stops[0].z], own, [stops[1].z])) - middle))
    turned = np.abs(turned - turned[0])
    parts = max(int(np.ceil(turned[-1] / LARGEST_TURN)), 3 if stops[0] is stops[1] else 1)
    cuts = np.searchsorted(turned, turned[-1] * np.arange(1, parts) / parts)
    bends = []
    for c in cuts.tolist():
        z = curve.foot(complex(own[min(max(c - 1, 0), len(own) - 1)]))
        bends.append(_Stop(z, z))
    row = [stops[0], *bends, stops[1]]
    place = np.array([-1, *(run.first + cuts - 1), len(beads) + 1])
    at = np.arange(run.first, run.first + len(own))
    return [
        _Span(
            row[k],
            row[k + 1],
            curve,
            own[use & (at >= place[k]) & (at < place[k + 1])],
            [stop for p, stop in riders if place[k] < p <= place[k + 1]],
        )
        for k in range(parts)
    ]


def _place(spans: list[_Span], width: float) -> None:
    """Move the stops to where the curves meet, and lay the spans through them."""
    stops: dict[int, _Stop] = {}
    for span in spans:
        for stop in (span.first, span.last):
            if stop.passed is None or span.curve is not stop.passed:
                stop.ending.append(span)
        for stop in span.riders:
            stop.rides.append(span)
        for stop in (span.first, *span.riders, span.last):
            stops[id(stop)] = stop
        span.parts = [(span.first.z, span.last.z, _bulge(span))]
    for stop in stops.values():
        if stop.knot < 0 and len(stop.ending) == 2:
            one, other = (span.curve.tangent(stop.told) for span in stop.ending)
            stop.staying = SURE if abs(phase(other / one)) < SLIGHT else STAYING
    for _ in range(ROUNDS):
        moved = 0.0
        for stop in stops.values():
            z = _nearest_to_all(stop, width)
            moved = max(moved, abs(z - stop.z))
            stop.z = z
        for span in spans:
            span.parts = _laid(span)
        if moved <= SETTLED:
            break


def _nearest_to_all(stop: _Stop, width: float) -> complex:
    """Return where the curves at a stop meet: Gauss-Newton steps on the sum of squared distances."""
    if _is_smooth(stop):
        return _tangent_point(stop, width)
    z = stop.z
    passing = [_part_at(span, z) for span in stop.rides]
    if stop.passed is not None:
        passing.append(stop.passed)
    curves = [(span.curve, 1.0) for span in stop.ending] + [(curve, PASSING) for curve in passing]
    for _ in range(3):
        # Normal equations for the step (x, y).
        xx = yy = stop.staying
        xy = 0.0
        off = stop.told - z
        x, y = stop.staying * off.real, stop.staying * off.imag
        for curve, weight in curves:
            normal = 1j * curve.tangent(z)
            d = curve.distance(z)
            xx += weight * normal.real**2
            yy += weight * normal.imag**2
            xy += weight * normal.real * normal.imag
            x -= weight * d * normal.real
            y -= weight * d * normal.imag
        det = xx * yy - xy * xy
        z += complex(yy * x - xy * y, xx * y - xy * x) / det
    away = z - stop.told
    furthest = (FURTHEST if stop.knot >= 0 else SKIP) * width
    if abs(away) > furthest:
        z = stop.told + away / abs(away) * furthest
    return passing[0].foot(z) if len(passing) == 1 else z


def _is_smooth(stop: _Stop) -> bool:
    """Tell whether a stop is a bend without a corner, at which an arc begins or ends."""
    if stop.knot >= 0 or len(stop.ending) != 2:
        return False
    one, other = (span.curve for span in stop.ending)
    if one.curvature == 0.0 and other.curvature == 0.0:
        return False
    return abs(phase(other.tangent(stop.told) / one.tangent(stop.told))) <= CORNER


def _tangent_point(stop: _Stop, width: float) -> complex:
    """Return the point half way between the two curves of a smooth bend, where they run in one direction.

    That is on the line of their centres, or, on a line, where the perpendicular from the centre meets it.
    Where there is no such point near, curves of nearly one curvature meet, and the place the network
    tells is as good.
    """
    one, other = (span.curve for span in stop.ending)
    z = stop.told
    for _ in range(4):
        apart = phase(other.tangent(z) / one.tangent(z))
        bent = other.curvature - one.curvature
        if abs(bent) * NEAR_TANGENT * width < abs(apart):
            z = stop.told
            break
        z -= apart / bent * one.tangent(z) if bent else 0.0
    if abs(z - stop.told) > NEAR_TANGENT * width:
        z = stop.told
    # A line knows better where it runs than an arc does.
    if one.curvature == 0.0 or other.curvature == 0.0:
        return (one if one.curvature == 0.0 else other).foot(z)
    return (one.foot(z) + other.foot(z)) / 2


def _part_at(span: _Span, z: complex) -> Curve:
    """Return the whole curve of the part of a span that is nearest to z."""
    curves = [Curve.of(*part) for part in span.parts]
    if len(curves) == 1:
        return curves[0]
    joint = span.parts[0][1]
    return curves[int(((z - joint) * curves[1].along.conjugate()).real > 0)]


def _laid(span: _Span) -> list[tuple[complex, complex, float]]:
    """Return the segments between a span's stops."""
    p, q = span.first.z, span.last.z
    if span.curve.curvature == 0.0 or p == q:
        return [(p, q, 0.0)]
    bulge = _bulge(span)
    own = Curve.of(p, q, bulge)
    leave, arrive = _smooth(span.first, span), _smooth(span.last, span)
    if leave is None and arrive is None:
        return [(p, q, bulge)]
    return _two_arcs(p, leave or own.tangent(p), q, arrive or own.tangent(q))


def _bulge(span: _Span) -> float:
    """Return the bulge of the arc between a span's stops that is nearest to its beads."""
    p, q, curve = span.first.z, span.last.z, span.curve
    if curve.curvature == 0.0 or p == q:
        return 0.0
    turn = phase(curve.tangent(q) / curve.tangent(p))
    if turn * curve.curvature < 0:
        turn += 2 * pi if curve.curvature > 0 else -2 * pi
    bulge = max(-1.0, min(1.0, tan(max(-pi, min(pi, turn)) / 4)))
    if max(abs(curve.distance(p)), abs(curve.distance(q))) <= SETTLED or len(span.beads) < 3:
        return bulge
    step = 1e-4
    for _ in range(4):
        off = Curve.of(p, q, bulge).distances(span.beads)
        slope = (Curve.of(p, q, bulge + step).distances(span.beads) - off) / step
        size = float(slope @ slope)
        if size == 0.0:
            break
        bulge = max(-1.0, min(1.0, bulge - float(slope @ off) / size))
    return bulge


def _smooth(stop: _Stop, span: _Span) -> complex | None:
    """Return the direction in which a span passes a bend that is no corner; None at any other stop."""
    if not _is_smooth(stop):
        return None
    other = stop.ending[0] if stop.ending[1] is span else stop.ending[1]
    mine, its = span.curve.tangent(stop.z), other.curve.tangent(stop.z)
    if other.curve.curvature == 0.0:
        chord = other.last.z - other.first.z
        return chord / abs(chord) if chord else its
    both = mine + its
    return both / abs(both)


def _two_arcs(
    p: complex, leave: complex, q: complex, arrive: complex
) -> list[tuple[complex, complex, float]]:
    """Return two arcs from p to q with the given directions; one, where one does it.

    *Source*: the biarc whose middle point lies as far along both end tangents (derived from the condition
    that the chords to it make equal angles with its two tangents).
    """
    chord = q - p
    before, after = phase(chord / leave), phase(arrive / chord)
    if abs(before - after) <= 2 * SINGLE:
        return [(p, q, tan((before + after) / 4))]
    both = leave + arrive
    along = (chord * both.conjugate()).real
    square = abs(chord) ** 2
    bent = 1 - (leave * arrive.conjugate()).real
    if bent < 1e-12:
        reach = square / (2 * along)
    else:
        reach = (-along + sqrt(along * along + 2 * bent * square)) / (2 * bent)
    middle = (p + q + reach * (leave - arrive)) / 2
    first, second = phase((middle - p) / leave), phase(arrive / (q - middle))
    return [(p, middle, tan(first / 2)), (middle, q, tan(second / 2))]


def _cut(tracks: tuple[Track, ...], spans: list[_Span]) -> list[Seam]:
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
    if curve.curvature == 0.0:
        return ((z - p) / (q - p)).real
    return phase((z - p) / curve.along) / phase((q - p) / curve.along)


def _seam(start: complex, end: complex, bulge: float, share: float, track: Track) -> Seam:
    part = tan(np.arctan(bulge) * share) if bulge else 0.0
    return Seam(start, end, float(part), track.left, track.right)
