"""Lay one outline on another, and tell by how much the two differ at best.

Two ways, both under turns and shifts only; a flip is done before.

*Knot by knot*: outlines with the same number of vertices are compared vertex with vertex and middle
with middle, for every cyclic start at once (one Fourier transform) and for many outlines at once.
Three points make an arc, so equal knots are equal outlines. This finds nearly everything.

*Freely*: outlines whose vertices stand elsewhere (a fitted curve cut into other arcs) are laid on
each other by equal steps of length, again for every start at once, refined by Gauss-Newton on the
distances to the other outline, and judged by the largest distance either way.

*Source*: the best turn for paired points is the closed form of the plane Procrustes problem: with both
sets centred and written as complex numbers it is the direction of sum(conj(a) b).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Segments
from convert.geometry.measure import lengths, midpoint, point_at, start_tangent, sweep
from convert.geometry.nearest import Targets
from convert.geometry.plane import to_complex
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.model import Ints
    from convert.block.plain import Outlines
    from convert.geometry.chain import Floats

    Complexes = NDArray[np.complex128]

STEPS = 256
"""Equal steps of length round an outline, for the free comparison."""


@dataclass(frozen=True, slots=True, eq=False)
class Fits:
    """How outlines a lie on outlines b, row by row: b is about turn × a + shift, `misfit` the largest miss.

    *Shapes*: all (m,); `first` is the knot of b on which knot 0 of a comes to lie.
    """

    turn: Complexes
    shift: Complexes
    misfit: Floats
    first: Ints


def knots_of(outlines: Outlines, which: Ints, count: int) -> Complexes:
    """Return (m, 2, n): vertices and segment middles of the outlines `which`, all of n = `count` vertices."""
    rows = outlines.start[which][:, None] + np.arange(count)
    middle = midpoint(outlines.table)
    return np.stack((to_complex(outlines.points[rows]), to_complex(middle[rows])), axis=1)


def flipped_knots(knots: Complexes) -> Complexes:
    """Return the knots of the outlines flipped over (y to -y), counter-clockwise again."""
    back = knots[:, :, ::-1].conj()
    return np.stack((back[:, 0], np.roll(back[:, 1], -1, axis=-1)), axis=1)


def traits(knots: Complexes) -> Floats:
    """Return (m, 2n) numbers that change by no more than the outlines do: sorted distances from the middle.

    Moving every knot by at most d moves no sorted distance by more than d (once the means agree), so
    outlines whose traits differ by more than d can't be laid within d of each other.
    """
    away = np.abs(knots - knots.mean(axis=(1, 2), keepdims=True))
    away.sort(axis=2)
    return np.asarray(away.reshape(len(knots), -1))


def fit_knots(a: Complexes, b: Complexes) -> Fits:
    """Lay outlines `a` (m or 1, 2, n) on `b` (m, 2, n) with the start and the turn of least squares."""
    mean_a, mean_b = a.mean(axis=(1, 2)), b.mean(axis=(1, 2))
    a, b = a - mean_a[:, None, None], b - mean_b[:, None, None]
    product = np.fft.fft(a, axis=2).conj() * np.fft.fft(b, axis=2)
    agreement = np.fft.ifft(product.sum(axis=1), axis=1)
    size = np.abs(agreement)
    # Of starts that agree equally well (a regular shape) take the first, whatever rounding says.
    first = np.argmax(size >= size.max(axis=1, keepdims=True) * (1 - 1e-12), axis=1)
    best = np.take_along_axis(agreement, first[:, None], axis=1)[:, 0]
    turn = best / np.abs(best)
    matched = rolled(b, first)
    misfit = np.abs(turn[:, None, None] * a - matched).max(axis=(1, 2))
    return Fits(turn, mean_b - turn * mean_a, misfit, first)


def rolled(knots: Complexes, first: Ints) -> Complexes:
    """Return knots (m, 2, n) so that row i starts with knot first[i]."""
    count = knots.shape[2]
    index = (first[:, None] + np.arange(count)) % count
    return np.take_along_axis(knots, index[:, None, :], axis=2)


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """One outline with its holes, ready for the free comparison.

    `table` are all its segments, `steps` (STEPS,) points of the outer outline at equal steps,
    `probes` (p, 2) the points whose distance is taken: vertices, middles and every second step.
    """

    table: Segments
    steps: Complexes
    probes: Floats
    perimeter: float
    targets: Targets

    @classmethod
    def of(cls, outlines: Outlines, rings: tuple[int, ...]) -> Figure:
        """Prepare the outline rings[0] with the holes rings[1:]."""
        tables = [outlines.chain(r).segments for r in rings]
        table = Segments(
            np.concatenate([t.start for t in tables]),
            np.concatenate([t.end for t in tables]),
            np.concatenate([t.bulge for t in tables]),
        )
        running = np.concatenate(([0.0], np.cumsum(lengths(tables[0]))))
        along = np.arange(STEPS) * (running[-1] / STEPS)
        row = np.minimum(np.searchsorted(running, along, side="right") - 1, len(tables[0]) - 1)
        part = (along - running[row]) / (running[row + 1] - running[row])
        steps = point_at(tables[0].take(row), np.clip(part, 0.0, 1.0))
        probes = np.concatenate((table.start, midpoint(table), steps[::2]))
        return cls(table, to_complex(steps), probes, float(running[-1]), Targets(table))

    def flipped(self) -> Figure:
        """Return the figure flipped over (y to -y), its outline counter-clockwise again."""
        over = np.array((1.0, -1.0))
        table = Segments(self.table.end * over, self.table.start * over, self.table.bulge)
        return Figure(table, self.steps[::-1].conj(), self.probes * over, self.perimeter, Targets(table))

    def nearest(self, xy: Floats) -> tuple[Floats, Ints, Floats]:
        """Return distance, row of `table` and fraction of the nearest place for points (m, 2)."""
        everything = np.array([0, len(self.table)])
        return self.targets.nearest_in(everything, np.zeros(len(xy), np.intp), xy)

    def traits(self) -> Floats:
        """Return (32,) numbers that change little between nearly equal outlines: see `traits` above."""
        away = np.sort(np.abs(self.steps - self.steps.mean()))
        return away[STEPS // 64 :: STEPS // 32]


def fit_freely(a: Figure, b: Figure, tolerance: float) -> tuple[complex, complex, float]:
    """Lay figure `a` on figure `b`; return (turn, shift, misfit), the misfit to about its own square.

    Starts that promise to come within `tolerance` of the best are all tried. The misfit is the
    largest distance between the probes of either and the other's outline. Outlines that can't come
    within `tolerance` are given up early, with the root mean square of their best steps' distances.
    """
    mean_a, mean_b = a.steps.mean(), b.steps.mean()
    za, zb = a.steps - mean_a, b.steps - mean_b
    agreement = np.fft.ifft(np.fft.fft(za).conj() * np.fft.fft(zb))
    size = np.abs(agreement)
    square = (np.abs(za) ** 2).sum() + (np.abs(zb) ** 2).sum() - 2 * size
    rms = np.sqrt(np.maximum(square, 0.0) / STEPS)
    # The true start lies up to half a step from a sampled one.
    slack = tolerance + a.perimeter / STEPS + abs(a.perimeter - b.perimeter) / 2
    peaks = np.flatnonzero(
        (size >= np.roll(size, 1)) & (size >= np.roll(size, -1)) & (rms <= rms.min() + slack)
    )
    peaks = peaks[np.argsort(rms[peaks], kind="stable")][:24]
    if rms.min() > slack:
        return 1.0 + 0j, 0j, float(rms.min())
    best: tuple[complex, complex, float] = (1.0 + 0j, 0j, np.inf)
    for peak in peaks.tolist():
        turn = complex(agreement[peak] / size[peak])
        found = _refined(a, b, turn, complex(mean_b - turn * mean_a))
        if found[2] < best[2]:
            best = found
        if best[2] <= tolerance * 1e-3:
            break
    return best


def _refined(a: Figure, b: Figure, turn: complex, shift: complex) -> tuple[complex, complex, float]:
    """Improve a placement by Gauss-Newton on the distances of a's probes along b's normals."""
    probes = to_complex(a.probes)
    lean = start_tangent(b.table)
    tangent, sweeps = to_complex(lean), sweep(b.table)
    centre = probes.mean()
    for _ in range(8):
        placed = turn * probes + shift
        xy = np.stack((placed.real, placed.imag), axis=1)
        _, row, part = b.nearest(xy)
        touched = to_complex(point_at(b.table.take(row), part))
        normal = 1j * tangent[row] * np.exp(1j * sweeps[row] * part)
        away = ((placed - touched) * normal.conj()).real
        arm = turn * (probes - centre)
        # How the distance grows with a small turn about the centre, and with a shift in x and in y.
        slope = np.stack(((1j * arm * normal.conj()).real, normal.real, normal.imag), axis=1)
        step = np.linalg.lstsq(slope, -away, rcond=1e-9)[0]
        spin = complex(np.exp(1j * step[0]))
        held = turn * centre + shift
        turn *= spin
        turn /= abs(turn)
        shift = complex(held + step[1] + 1j * step[2] - turn * centre)
        if abs(step[0]) * a.perimeter + abs(step[1]) + abs(step[2]) < 1e-12 * a.perimeter:
            break
    return turn, shift, _misfit(a, b, turn, shift)


def _misfit(a: Figure, b: Figure, turn: complex, shift: complex) -> float:
    """Return the largest distance between the probes of either figure and the other, a being placed."""
    there = similarity(turn, shift)
    forth = b.nearest(there.points(a.probes))[0].max()
    back = a.nearest(there.inverse().points(b.probes))[0].max()
    return float(max(forth, back))


def similarity(turn: complex, shift: complex, *, flipped: bool = False) -> Similarity:
    """Return z to turn × z + shift as a Similarity; when `flipped`, z to its conjugate of that."""
    if flipped:
        return Similarity(turn.real, -turn.imag, shift.real, -shift.imag, flipped=True)
    return Similarity(turn.real, turn.imag, shift.real, shift.imag)
