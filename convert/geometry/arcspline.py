"""Arc splines: smooth chains of circular arcs through points of a curve, as few as a tolerance allows.

A chain of n arcs has its n + 1 vertices on the curve and leaves and arrives in given directions.
Because arcs meet smoothly, the vertices decide everything: an arc turns as much before its chord
as after it. Write d for the angle from the curve's direction to the arcs' direction at a vertex,
a for the angle from the curve's direction at an arc's start to its chord, b for that from the
chord to the curve's direction at its end. Then the arc's half sweep is a - d_start, and
d_end = a - b - d_start. The chain is right when the last d is zero: one equation, met by
sliding the vertices along the curve.

How few: over a short run the distance to an arc is a cubic in arc length s with third derivative
k' = d(curvature)/ds. If the arcs may lean by d = k' h^2 / 12 at their vertices it is the Bernoulli
polynomial B3, whose greatest value gives the error k' h^3 / 124.7 (biarcs, which do not lean at
every second vertex, reach k' h^3 / 40.5: half as many arcs again). The first and last arc may not
lean at the outer end and are shorter by 1/sqrt(2). So vertices are laid out evenly in
the integral of |k'|^(1/3) ds, then moved until the errors are even.
*Source*: own derivation; B3 and its maximum sqrt(3)/36 after any table of Bernoulli polynomials.

All of it stands in this one file since every function is a step of that one derivation, in its words.

Everything treats both ends of a curve alike, so a reversed curve gives the reversed arcs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.plane import cross

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.parametric import Curves
    from convert.geometry.plane import Complexes, Flags, Ints

FREE_ARC = 36 * np.sqrt(3.0) * 2
"""k' h^3 over the error, for an arc whose ends may lean."""
END_ARC = np.sqrt(0.5)
"""Length of the first and last arc over that of the others."""
STEEPEST = np.radians(80.0)
"""Largest half sweep of a fitted arc: near a half circle an arc hardly knows its own ends."""
SMOOTH = 2e-3
"""A single arc may leave a curve's end direction by this (0.11 degrees): no eye or blade sees it."""
GRID = 48
SAMPLES = 12
"""Intervals per arc on which the distance is measured."""
LOBE = 0.21
"""Where on an arc, from either end, the distance is greatest: (3 - sqrt(3)) / 6 for B3."""
PATIENCE = (8.0, 4.0, 2.5, 2.0, 1.6, 1.3)
"""After each round of evening out, a chain off by more than this times the tolerance needs more arcs."""


@dataclass(frozen=True, slots=True, eq=False)
class Spans:
    """m runs of curves: curve number, parameter range and unit directions at both ends, each (m,)."""

    row: Ints
    first: Floats
    last: Floats
    leave: Complexes
    arrive: Complexes

    def __len__(self) -> int:
        return len(self.row)

    def take(self, index: Ints | Flags) -> Spans:
        """Return the spans that `index` selects."""
        return Spans(
            self.row[index], self.first[index], self.last[index], self.leave[index], self.arrive[index]
        )


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """k fitted arcs: curve number, parameter range, bulge and error bound, each (k,); in no order."""

    row: Ints
    first: Floats
    last: Floats
    bulge: Floats
    error: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Chains:
    """m chains of n arcs while they are being fitted.

    Knots, leans and speed there (m, n + 1); half sweeps and chord lengths (m, n); misfit of the
    direction on arrival (m,); change of an arc's demand a - b with its end and its start knot, at the
    inner knots (m, n - 1).
    """

    knots: Floats
    half: Floats
    lean: Floats
    misfit: Floats
    size: Floats
    speed: Floats
    by_end: Floats
    by_start: Floats

    def take(self, index: Flags) -> _Chains:
        """Return the chains that `index` selects."""
        return _Chains(*(getattr(self, column)[index] for column in self.__slots__))


def unit(v: Complexes) -> Complexes:
    """Return the directions of `v`; of nothing, the direction of x."""
    size = np.abs(v)
    out = np.where(size > 0, v, np.complex128(1.0)) / np.where(size > 0, size, 1.0)
    return out.astype(np.complex128, copy=False)


def fit_spans(curves: Curves, spans: Spans, tolerance: float) -> Pieces:
    """Fit every span by a smooth chain of arcs nowhere farther than `tolerance` from it, and back.

    Numbers of arcs are tried upwards from a little under the expected one. A span that resists
    (a spike of curvature too narrow for the layout) is halved, with the curve's own direction in
    the middle; a span smaller than the tolerance is a line, so the halving ends.
    """
    done: list[Pieces] = []
    while len(spans):
        spans, pieces = _as_single(curves, spans, tolerance)
        done.append(pieces)
        if not len(spans):
            break
        layout = _layout(curves, spans)
        expected = layout[1][:, -1] / np.cbrt(FREE_ARC * tolerance) + 2 * (1 - END_ARC)
        count = np.maximum(2, np.floor(expected)).astype(np.intp)
        limit = 2 * count + 6
        left = np.arange(len(spans))
        while len(left):
            advance = np.zeros(len(left), dtype=np.intp)
            for n in np.unique(count[left]):
                at = np.flatnonzero(count[left] == n)
                chosen = left[at]
                grid = (layout[0][chosen], layout[1][chosen])
                pieces, worst = _chains(curves, spans.take(chosen), int(n), grid, tolerance)
                done.append(pieces)
                # Errors fall with the cube of the count: a chain that misses by far skips a few.
                more = int(n) * (np.cbrt(np.minimum(worst / tolerance, 8.0)) - 1.0)
                advance[at] = np.where(worst <= tolerance, 0, np.maximum(1, np.floor(0.5 * more)))
            count[left] += advance
            left = left[advance > 0]
            left = left[count[left] <= limit[left]]
        spans = _halved(curves, spans.take(count > limit))
    return _joined(done)


def directions(
    first: Complexes, second: Complexes, third: Complexes, forward: float, size: Floats
) -> Complexes:
    """Return unit directions of travel where the derivatives are given; `forward` is -1 for an arriving end.

    Where the first derivative vanishes (against the curve's `size`), the second decides, then the
    third: the limit of the direction from that side.
    """
    flat, flatter = np.abs(first) <= 1e-9 * size, np.abs(second) <= 1e-9 * size
    way = np.where(flat, np.where(flatter, third, forward * second), first)
    return unit(way)


def _as_single(curves: Curves, spans: Spans, tolerance: float) -> tuple[Spans, Pieces]:
    """Take out the spans that one arc, or a line of less than the tolerance, stands for."""
    knots = np.stack((spans.first, spans.last), axis=1)
    z = curves.take(spans.row).derivatives(knots, 0)[0]
    chord = z[:, 1] - z[:, 0]
    half = np.angle(spans.arrive * np.conj(spans.leave)) / 2
    lean = np.angle(np.where(chord == 0, 1, chord) * np.conj(spans.leave)) - half
    lean = np.abs(np.arctan2(np.sin(lean), np.cos(lean)))
    half = np.where(np.abs(half) < STEEPEST, half, 0.0)
    error = _distances(curves, spans, knots, half[:, None])[0][:, 0]
    smooth = (lean <= SMOOTH) & (error <= tolerance)
    grid = curves.take(spans.row).derivatives(_between(knots, 8)[:, 0], 0)[0]
    tiny = ~smooth & (np.abs(grid - grid[:, :1]).max(axis=1) <= tolerance / 4)
    half = np.where(tiny, 0.0, half)
    if tiny.any():
        error[tiny] = _distances(curves, spans.take(tiny), knots[tiny], half[tiny, None])[0][:, 0]
    ok = smooth | tiny
    return spans.take(~ok), Pieces(
        spans.row[ok], spans.first[ok], spans.last[ok], np.tan(half[ok] / 2), error[ok]
    )


def _layout(curves: Curves, spans: Spans) -> tuple[Floats, Floats]:
    """Return parameters (m, GRID + 1) and the running integral of |k'|^(1/3) ds there."""
    # Close together near the ends, where spans are cut at spikes of curvature.
    share = (1 - np.cos(np.linspace(0, np.pi, GRID + 1))) / 2
    t = spans.first[:, None] * (1 - share) + spans.last[:, None] * share
    middle = (t[:, 1:] + t[:, :-1]) / 2
    _, d1, d2, d3 = curves.take(spans.row).derivatives(middle, 3)
    speed2 = d1.real**2 + d1.imag**2
    speed2 = np.maximum(speed2, 1e-18 * speed2.max(axis=1, keepdims=True) + 1e-300)
    dot = d1.real * d2.real + d1.imag * d2.imag
    # d(curvature)/dt times speed^5; then |k'|^(1/3) ds = |rate|^(1/3) / speed dt.
    rate = cross(d1, d3) * speed2 - 3 * cross(d1, d2) * dot
    step = np.cbrt(np.abs(rate)) / np.sqrt(speed2) * np.diff(t, axis=1)
    # Where curvature stands still a gap would have no end: a floor keeps neighbours comparable.
    laid = step + 0.05 * step.sum(axis=1, keepdims=True) / GRID + 1e-300
    running = np.concatenate((np.zeros((len(t), 1)), np.cumsum(laid, axis=1)), axis=1)
    return t, running


def _chains(
    curves: Curves, spans: Spans, n: int, layout: tuple[Floats, Floats], tolerance: float
) -> tuple[Pieces, Floats]:
    """Fit every span by n >= 2 arcs; return those within the tolerance, and the best error of every span."""
    share = np.ones(n)
    share[0] = share[-1] = END_ARC
    target = np.concatenate(([0.0], np.cumsum(share) / share.sum()))
    knots = _inverse(*layout, target)
    best = np.full(len(spans), np.inf)
    kept: list[Pieces] = []
    left = np.arange(len(spans))
    for turn in range(len(PATIENCE) + 1):
        here = spans.take(left)
        chains = _smooth_chain(curves, here, knots)
        knots, half = chains.knots, chains.half
        error, lobes = _distances(curves, here, knots, half)
        worst = error.max(axis=1)
        good = (np.abs(chains.misfit) < 1e-9) & (np.abs(half).max(axis=1) <= STEEPEST)
        worst = np.where(good, worst, np.inf)
        best[left] = np.minimum(best[left], worst)
        fits = worst <= tolerance
        if fits.any():
            rows = np.repeat(here.row[fits], n)
            ends = knots[fits]
            bulge = np.tan(half[fits] / 2)
            kept.append(
                Pieces(rows, ends[:, :-1].ravel(), ends[:, 1:].ravel(), bulge.ravel(), error[fits].ravel())
            )
        if turn == len(PATIENCE):
            break
        go = ~fits & (error.max(axis=1) <= PATIENCE[turn] * tolerance)
        if not go.any():
            break
        left = left[go]
        knots = _evened(chains.take(go), lobes[go])
    return _joined(kept), best


def _smooth_chain(curves: Curves, spans: Spans, knots: Floats) -> _Chains:
    """Slide inner vertices until the arcs arrive in the right direction.

    Newton's method on the one equation, with the least movement in units of the gaps around each vertex.
    """
    chosen = curves.take(spans.row)
    n = knots.shape[1] - 1
    sign = np.where(np.arange(1, n)[::-1] % 2 == 0, 1.0, -1.0)
    for turn in range(4):
        _, d1, d2 = z = chosen.derivatives(knots, 2)
        heading = d1 / np.maximum(np.abs(d1), 1e-300)
        heading[:, 0], heading[:, -1] = spans.leave, spans.arrive
        chord = np.diff(z[0], axis=1)
        length2 = np.maximum(chord.real**2 + chord.imag**2, 1e-300)
        before = np.angle(chord * np.conj(heading[:, :-1]))
        after = np.angle(heading[:, 1:] * np.conj(chord))
        lean, half, misfit = _leans(before, after)
        toward = 2 * cross(chord[:, :-1], d1[:, 1:-1]) / length2[:, :-1]
        away = 2 * cross(chord[:, 1:], d1[:, 1:-1]) / length2[:, 1:]
        if turn == 3:
            break
        slope = sign * (toward + away)
        gap = np.diff(knots, axis=1)
        room = np.minimum(gap[:, 1:], gap[:, :-1])
        pull = slope * room**2
        norm = (pull * slope).sum(axis=1, keepdims=True)
        step = -misfit[:, None] * pull / np.where(norm > 0, norm, 1.0)
        knots = knots.copy()
        move: Floats = step / room
        knots[:, 1:-1] += _held(move) * room
    speed = np.abs(d1)
    turning = cross(d1, d2)[:, 1:-1] / np.maximum(speed[:, 1:-1] ** 2, 1e-300)
    return _Chains(knots, half, lean, misfit, np.sqrt(length2), speed, toward - turning, -away - turning)


def _held(step: Floats) -> Floats:
    """Return steps (in units of the room there is) shortened so that no vertex passes another."""
    most = np.abs(step).max(axis=1, keepdims=True)
    out: Floats = step * (0.3 / np.maximum(most, 0.3))
    return out


def _evened(chains: _Chains, lobes: Floats) -> Floats:
    """Return knots moved so that the greatest distances become more even.

    On an arc the distance is a cubic with a lobe on each side of its middle, of signed heights
    `lobes` (m, n, 2). Their change with the knots follows from that cubic; the step lowers their
    fourth powers' sum (weighted least squares), keeping the arrival's direction to first order.
    """
    m, n, _ = lobes.shape
    inner = np.arange(1, n)
    arc = np.arange(n + 1)[:, None]
    # d lean_i / d t_j: its own demand's, then with alternating sign what earlier knots handed on.
    alternating = np.where((arc - inner) % 2 == 0, 1.0, -1.0) * (arc > inner)
    own = chains.by_end
    leaning = alternating * (own - chains.by_start)[:, None, :] + (arc == inner) * own[:, None, :]
    edge = leaning[:, -1].copy()
    # Counted half from the start and half from the arrival, which is held: both ends alike.
    leaning -= np.where((n - arc) % 2 == 0, 0.5, -0.5) * edge[:, None]
    d0, d1 = chains.lean[:, :-1], chains.lean[:, 1:]
    # At share s of a chord h the distance is h (d0 s (1 - s)^2 - d1 s^2 (1 - s)), by these slopes.
    place = np.array([LOBE, 1 - LOBE])[:, None]
    from_start, from_end = place * (1 - place) ** 2, place**2 * (1 - place)
    response = leaning[:, :-1, None, :] * from_start - leaning[:, 1:, None, :] * from_end
    response *= chains.size[:, :, None, None]
    height = d0[:, :, None] * from_start[:, 0] - d1[:, :, None] * from_end[:, 0]
    at, speed = np.arange(n - 1), chains.speed[:, 1:-1, None]
    response[:, at, :, at] += np.moveaxis(height[:, :-1] * speed, 1, 0)
    response[:, at + 1, :, at] -= np.moveaxis(height[:, 1:] * speed, 1, 0)
    gap = np.diff(chains.knots, axis=1)
    room = np.minimum(gap[:, 1:], gap[:, :-1])
    response = (response * room[:, None, None, :]).reshape(m, 2 * n, n - 1)
    flat = lobes.reshape(m, 2 * n)
    top = np.abs(flat).max(axis=1, keepdims=True)
    flat = flat / top
    response /= top[:, :, None]
    weighted = response * (flat**2)[:, :, None]
    system = np.zeros((m, n, n))
    system[:, :-1, :-1] = np.swapaxes(weighted, 1, 2) @ response
    system[:, at, at] += 0.01 * np.trace(system, axis1=1, axis2=2)[:, None] / n + 1e-12
    edge *= room
    size = np.abs(edge).max(axis=1)
    # A chain on which no knot turns the arrival, to first order, has nothing to keep.
    turning = size > 1e-12
    size = np.where(turning, size, 1.0)
    system[:, -1, :-1] = system[:, :-1, -1] = np.where(turning[:, None], edge / size[:, None], 0.0)
    system[~turning, -1, -1] = 1.0
    right = np.zeros((m, n, 1))
    right[:, :-1, 0] = -np.einsum("mrj,mr->mj", weighted, flat)
    right[:, -1, 0] = np.where(turning, -chains.misfit / size, 0.0)
    step: Floats = np.linalg.solve(system, right)[:, :-1, 0].astype(np.float64)
    knots = chains.knots.copy()
    knots[:, 1:-1] += _held(0.5 * step) * room
    return knots


def _leans(before: Floats, after: Floats) -> tuple[Floats, Floats, Floats]:
    """Return leans (m, n + 1), half sweeps (m, n) and the misfit (m,) of arcs with these chord angles.

    d_i = a_i - b_i - d_(i-1) has the solution (-1)^i d_i = sum of (-1)^j (a_j - b_j), j <= i, plus a
    constant, which is chosen to share the misfit between both ends.
    """
    n = before.shape[1]
    sign = np.where(np.arange(n + 1) % 2 == 0, 1.0, -1.0)
    running = np.zeros((len(before), n + 1))
    np.cumsum(sign[1:] * (before - after), axis=1, out=running[:, 1:])
    lean = sign * (running - running[:, -1:] / 2)
    return lean, before - lean[:, :-1], sign[-1] * running[:, -1]


def _distances(curves: Curves, spans: Spans, knots: Floats, half: Floats) -> tuple[Floats, Floats]:
    """Return (m, n) bounds of the distance between arc j of span i and its part of the curve, both ways.

    The distance from the circle is taken at SAMPLES + 1 places. Between them it rises by less than
    an eighth of its second difference (the largest value lies within half a step of a sample). A point
    outside the arc's sector counts with its distance from the arc's end. As the curve runs
    from one end of the arc to the other, its radial image covers the arc: the bound holds both ways.
    Also return the signed distance farthest out in each half of the arc, (m, n, 2).
    """
    places = _between(knots, SAMPLES)
    m = len(places)
    z = curves.take(spans.row).derivatives(places.reshape(m, -1), 0)[0].reshape(places.shape)
    start, chord = z[:, :, :1], z[:, :, -1:] - z[:, :, :1]
    size = np.abs(chord)
    along = unit(chord)
    turn = np.exp(1j * half)[:, :, None]
    curvature = 2 * np.sin(half)[:, :, None] / np.where(size > 0, size, np.inf)
    from_start, from_end = z - start, z - z[:, :, -1:]
    leave, arrive = along * np.conj(turn), along * turn
    # k (rho^2 - 1/k^2) without dividing by k, so that a line is no special case.
    power = curvature * (from_start.real**2 + from_start.imag**2) - 2 * cross(leave, from_start)
    off = power / (1.0 + np.sqrt(np.maximum(1.0 + curvature * power, 0.0)))
    bend = np.abs(off[..., 2:] - 2 * off[..., 1:-1] + off[..., :-2])
    bend = np.concatenate((bend[..., :1], bend, bend[..., -1:]), axis=2)
    bound = np.abs(off) + 0.15 * bend
    early = leave.real * from_start.real + leave.imag * from_start.imag < 0
    late = arrive.real * from_end.real + arrive.imag * from_end.imag > 0
    bound = np.maximum(bound, np.where(early, np.abs(from_start), 0.0))
    bound = np.maximum(bound, np.where(late, np.abs(from_end), 0.0))
    middle = SAMPLES // 2
    sides = [
        np.take_along_axis(side, np.abs(side).argmax(axis=2)[..., None], 2)
        for side in (off[..., : middle + 1], off[..., middle:])
    ]
    return bound.max(axis=2), np.concatenate(sides, axis=2)


def _between(knots: Floats, parts: int) -> Floats:
    """Return (m, n, parts + 1) evenly spaced values from each knot of (m, n + 1) to the next, ends exact."""
    share = np.linspace(0.0, 1.0, parts + 1)
    out: Floats = knots[:, :-1, None] * (1 - share) + knots[:, 1:, None] * share
    return out


def _inverse(t: Floats, running: Floats, target: Floats) -> Floats:
    """Return t (m, k) where the running integral (m, g) has reached these shares (k,) of its total."""
    wanted = running[:, -1:] * target
    cell = (running[:, None, 1:-1] <= wanted[:, :, None]).sum(axis=2)
    low, high = np.take_along_axis(running, cell, 1), np.take_along_axis(running, cell + 1, 1)
    t0, t1 = np.take_along_axis(t, cell, 1), np.take_along_axis(t, cell + 1, 1)
    part = (wanted - low) / np.where(high > low, high - low, 1.0)
    out = t0 + (t1 - t0) * part
    out[:, 0], out[:, -1] = t[:, 0], t[:, -1]
    return out


def _halved(curves: Curves, spans: Spans) -> Spans:
    """Return both halves of each span, cut in the middle of its layout."""
    if not len(spans):
        return spans
    middle = _inverse(*_layout(curves, spans), np.array([0.0, 0.5, 1.0]))[:, 1:2]
    _, d1, d2, d3 = curves.take(spans.row).derivatives(middle, 3)
    size = np.abs(d1) + np.abs(d2) + np.abs(d3)
    back, onward = (directions(d1, d2, d3, way, size)[:, 0] for way in (-1.0, 1.0))
    return Spans(
        np.concatenate((spans.row, spans.row)),
        np.concatenate((spans.first, middle[:, 0])),
        np.concatenate((middle[:, 0], spans.last)),
        np.concatenate((spans.leave, onward)),
        np.concatenate((back, spans.arrive)),
    )


def _joined(pieces: list[Pieces]) -> Pieces:
    """Return the tables under one another."""
    if not pieces:
        return Pieces(np.zeros(0, dtype=np.intp), *(np.zeros(0) for _ in range(4)))
    return Pieces(
        np.concatenate([p.row for p in pieces]),
        np.concatenate([p.first for p in pieces]),
        np.concatenate([p.last for p in pieces]),
        np.concatenate([p.bulge for p in pieces]),
        np.concatenate([p.error for p in pieces]),
    )
