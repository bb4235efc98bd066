"""Where lines and arcs meet: stops moved to the meeting of all curves there, and spans laid through them.

*Words.* A **span** is one line or arc of a strand between two **stops**: knots, or **bends** of its own. A
knot on the inside of a span **rides** on it: the span goes straight through and other strands end there.

Every stop moves to the point nearest, in the least-squares sense, to all curves that end or pass there,
prolonged. A line is the chord of its stops, an arc goes through them, and riders move onto them; that is
repeated until nothing moves. Bends with no corner are smoothed by pairs of arcs with one direction.
"""

from __future__ import annotations

from cmath import phase
from dataclasses import dataclass, field
from math import pi, radians, sqrt, tan
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.fewest import Curve

if TYPE_CHECKING:
    from convert.geometry.plane import Complexes

SKIP = 1.6
"""A corner may be drawn rounded over so many line widths."""

CORNER = radians(12.0)
"""Bends by less, of which one side is an arc, are smooth."""

NEAR_TANGENT, ASIDE = 8.0, 0.4
"""A smooth bend is where the two curves run in one direction, if that is so many line widths, and such a
share of the way to the next stop, away at most."""

TOUCHING = 3.0
"""Two curves touch within so many line widths of where the ink tells it."""

STRAIN, STRAINED = 0.08, 1.5
"""Smooth bends may take a seam so many line widths from its beads, or so many times further than without."""

SINGLE = 2e-3
"""A single arc may leave a given direction by this: as in geometry/arcspline.py."""

PASSING, STAYING = 1e3, 1e-3
"""Weights of a curve that goes on beyond a stop, and of the place the network tells; one that ends has 1."""

SURE, SLIGHT = 0.3, radians(25.0)
"""Weight of the place of a bend by less than that, as the ink there is hardly distorted, and of the place
of a knot that is known otherwise than by its lines."""

FURTHEST = 5.0
"""A stop moves at most so many line widths."""

ROUNDS = 60
SETTLED = 1e-9
"""Millimetres: a round that moves no stop by more is the last."""


@dataclass(slots=True, eq=False)
class Stop:
    """A knot or bend while it is being placed.

    `told` is where the network has it; `knot` is -1 for a bend. `passed` is a curve that begins and ends here
    without a bend. Where the stop is `touching`, a curve that passes and another one run in one direction.
    """

    z: complex
    told: complex
    knot: int = -1
    staying: float = STAYING
    passed: Curve | None = None
    touching: bool = False
    ending: list[Span] = field(default_factory=list)
    rides: list[Span] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Span:
    """A line or arc between two stops while it is being placed.

    `curve` is what the beads say; `riders` are the stops between, in order; `parts` is what has become of
    it: (start, end, bulge), one or two.
    """

    first: Stop
    last: Stop
    curve: Curve
    beads: Complexes
    riders: list[Stop]
    parts: list[tuple[complex, complex, float]] = field(default_factory=list)


def place(spans: list[Span], width: float) -> None:
    """Move the stops to where the curves meet, and lay the spans through them."""
    stops: dict[int, Stop] = {}
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
    for span in spans:
        p, q = span.first.z, span.last.z
        plain = [(p, q, _bulge(span))]
        most = max(STRAIN * width, STRAINED * _stray(span, plain))
        if span.parts != plain and _stray(span, span.parts) > most:
            span.parts = plain


def _stray(span: Span, parts: list[tuple[complex, complex, float]]) -> float:
    """Return how far the beads of a span are from its parts, prolonged, at most."""
    away = np.stack([np.abs(Curve.of(*part).distances(span.beads)) for part in parts])
    return float(away.min(axis=0).max(initial=0.0))


def _nearest_to_all(stop: Stop, width: float) -> complex:
    """Return where the curves at a stop meet: Gauss-Newton steps on the sum of squared distances."""
    if _is_smooth(stop):
        return _tangent_point(stop, width)
    z = stop.z
    passing = [_part_at(span, z) for span in stop.rides]
    if stop.passed is not None:
        passing.append(stop.passed)
    if stop.touching and passing:
        pair = [*passing, *(span.curve for span in stop.ending)][:2]
        if len(pair) == 2:
            z = _one_direction(pair[0], pair[1], stop.told, TOUCHING * width)
            return pair[0].foot(z) if len(passing) == 1 else (pair[0].foot(z) + pair[1].foot(z)) / 2
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


def _is_smooth(stop: Stop) -> bool:
    """Tell whether a stop is a bend without a corner, at which an arc begins or ends."""
    if stop.knot >= 0 or len(stop.ending) != 2:
        return False
    one, other = (span.curve for span in stop.ending)
    if one.curvature == 0.0 and other.curvature == 0.0:
        return False
    return abs(phase(other.tangent(stop.told) / one.tangent(stop.told))) <= CORNER


def _tangent_point(stop: Stop, width: float) -> complex:
    """Return the point half way between the two curves of a smooth bend, where they run in one direction.

    That is on the line of their centres, or, on a line, where the perpendicular from the centre meets it.
    Where there is no such point near, curves of nearly one curvature meet, and the place the network
    tells is as good.
    """
    one, other = (span.curve for span in stop.ending)
    z = stop.told
    others = [s for span in stop.ending for s in (span.first, *span.riders, span.last) if s is not stop]
    near = min(NEAR_TANGENT * width, *(ASIDE * abs(s.told - stop.told) for s in others))
    z = _one_direction(one, other, z, near)
    if max(abs(one.distance(z)), abs(other.distance(z))) > STRAIN * width:
        z = stop.told
    # A line knows better where it runs than an arc does.
    if one.curvature == 0.0 or other.curvature == 0.0:
        return (one if one.curvature == 0.0 else other).foot(z)
    return (one.foot(z) + other.foot(z)) / 2


def _one_direction(one: Curve, other: Curve, told: complex, near: float) -> complex:
    """Return the point within `near` of one that is told where two curves run in one direction; else that."""
    z = told
    if (other.tangent(z) * one.tangent(z).conjugate()).real < 0:
        other = Curve(other.through, -other.along, -other.curvature)
    bent = other.curvature - one.curvature
    for _ in range(4):
        apart = phase(other.tangent(z) / one.tangent(z))
        if abs(bent) * near < abs(apart):
            return told
        z -= apart / bent * one.tangent(z) if bent else 0.0
    return z if abs(z - told) <= near else told


def _part_at(span: Span, z: complex) -> Curve:
    """Return the whole curve of the part of a span that is nearest to z."""
    curves = [Curve.of(*part) for part in span.parts]
    if len(curves) == 1:
        return curves[0]
    joint = span.parts[0][1]
    return curves[int(((z - joint) * curves[1].along.conjugate()).real > 0)]


def _laid(span: Span) -> list[tuple[complex, complex, float]]:
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


def _bulge(span: Span) -> float:
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


def _smooth(stop: Stop, span: Span) -> complex | None:
    """Return the direction in which a span passes a bend that is no corner; None at any other stop."""
    if not _is_smooth(stop):
        return None
    other = stop.ending[0] if stop.ending[1] is span else stop.ending[1]
    mine, its = span.curve.tangent(stop.z), other.curve.tangent(stop.z)
    if other.curve.curvature == 0.0:
        chord = other.last.z - other.first.z
        return chord / abs(chord) if chord else its
    both = mine + its
    return both / abs(both) if both else its


def _two_arcs(
    p: complex, leave: complex, q: complex, arrive: complex
) -> list[tuple[complex, complex, float]]:
    """Return two arcs from p to q with the given directions; one, where one does it.

    *Source*: the biarc whose middle point lies as far along both end tangents (derived from the condition
    that the chords to it make equal angles with its two tangents).
    """
    chord = q - p
    before, after = phase(chord / leave), phase(arrive / chord)
    one = [(p, q, tan((before + after) / 4))]
    if abs(before - after) <= 2 * SINGLE:
        return one
    both = leave + arrive
    along = (chord * both.conjugate()).real
    square = abs(chord) ** 2
    bent = 1 - (leave * arrive.conjugate()).real
    if bent < 1e-12:
        if along <= 0.0:
            return one
        reach = square / (2 * along)
    else:
        reach = (-along + sqrt(along * along + 2 * bent * square)) / (2 * bent)
    middle = (p + q + reach * (leave - arrive)) / 2
    if middle in (p, q):
        return one
    first, second = phase((middle - p) / leave), phase(arrive / (q - middle))
    return [(p, middle, tan(first / 2)), (middle, q, tan(second / 2))]
