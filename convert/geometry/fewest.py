"""The fewest lines and circular arcs that tell what a row of measured points tells.

*Words.* A **run** is a stretch of points that one line or one arc stands for. Between two runs some points
may be **skipped**, because a corner is drawn rounded: the runs are prolonged until they meet.
The best division has the least sum of misfits and prices: each run pays for itself, lines less than arcs,
each skipped point pays a little, and the misfit of a run is its length (in units of the `width` of
what was drawn) times the mean square distance of its points over the square of the expected `noise`.
Found by dynamic programming: the best division up to a point is made of the best one up to an earlier point.

*Source*: the line by total least squares (least eigenvalue of the scatter); the circle by Taubin's method
(IEEE Trans. PAMI 13, 1991), with Newton's method on the characteristic polynomial as given by Chernov,
Circular and Linear Regression, 2010; its root is the mean square distance itself. The rest is ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.plane import square

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes

LINE_PRICE = 10.0
ARC_PRICE = 14.0
SKIP_PRICE = 2.0
"""In units of one expected squared misfit per width of length."""

SLACK, YOUNG = 1.0, 8
"""Beginnings of runs that can't gain more than this price are dropped, unless they are that young."""

PRUNED = 4
"""Beginnings are dropped at every such step where no arc can be the best run, else at each."""

TOO_FEW = 3
"""So few points are no arc: any three are on a circle."""

NEWTON_STEPS = 6
FLATTEST = 40.0
"""An arc whose radius is more than so many times its reach is a line."""


@dataclass(frozen=True, slots=True)
class Run:
    """Points first … last - 1, told by one line or arc. `arc` says which."""

    first: int
    last: int
    arc: bool


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A whole line or circle.

    `through` is a point on it, `along` the unit direction of travel there, `curvature` positive to the left.
    """

    through: complex
    along: complex
    curvature: float

    @classmethod
    def of(cls, start: complex, end: complex, bulge: float) -> Curve:
        """Return the whole line or circle of a segment; the formulas are those of geometry/segment.py."""
        chord = end - start
        size = abs(chord)
        turned = chord / size * (1 - 1j * bulge) ** 2 / (1 + bulge * bulge) if size > 0 else 1.0 + 0j
        return cls(start, turned, 4 * bulge / (size * (1 + bulge * bulge)) if size > 0 else 0.0)

    def distances(self, z: Complexes) -> Floats:
        """Return how far points lie to the left, with sign. *Source*: `side` in geometry/segment.py."""
        w = (z - self.through) * self.along.conjugate()
        k = self.curvature
        out: Floats = (2 * w.imag - k * square(w)) / (1 + np.hypot(1 - k * w.imag, k * w.real))
        return out

    def distance(self, z: complex) -> float:
        """Return how far one point lies to the left."""
        return float(self.distances(np.array([z]))[0])

    def foot(self, z: complex) -> complex:
        """Return the point of the curve that is nearest to z."""
        return z - self.distance(z) * 1j * self.tangent(z)

    def tangent(self, z: complex) -> complex:
        """Return the unit direction of travel at the foot of z."""
        w = (z - self.through) * self.along.conjugate()
        # The way from the centre at i/k to w, turned by a quarter and made longer by k.
        way = complex(1 - self.curvature * w.imag, self.curvature * w.real)
        size = abs(way)
        return self.along * way / size if size > 0 else self.along


def fit_curve(z: Complexes, weight: Floats, *, arc: bool) -> Curve:
    """Return the line or circle through points (n,), n >= 2, in the direction of their order."""
    total = weight.sum()
    middle = complex((z * weight).sum() / total)
    w = z - middle
    spread = complex((w * w * weight).sum())
    along = np.exp(0.5j * np.angle(spread)) if spread != 0 else 1.0 + 0j
    if ((z[-1] - z[0]) * along.conjugate()).real < 0:
        along = -along
    if not arc or len(z) < 3:
        return Curve(middle, complex(along), 0.0)
    centre, radius = _circle((w * along.conjugate()), weight)
    reach = 2 * float(np.abs(w).max())
    if radius is None or radius > FLATTEST * reach:
        return Curve(middle, complex(along), 0.0)
    # The point of the circle nearest to the middle of the row's points in order, and the way there.
    inner = w[len(w) // 2] * along.conjugate() - centre
    out = inner / abs(inner) if abs(inner) > 0 else 1j
    steps = np.diff(w * along.conjugate() - centre) * np.conj((w * along.conjugate() - centre)[:-1])
    left = steps.imag.sum() > 0
    through = middle + along * (centre + radius * out)
    turn = 1 if left else -1
    return Curve(complex(through), complex(along * out * 1j * turn), turn / radius)


def _circle(w: Complexes, weight: Floats) -> tuple[complex, float | None]:
    """Return centre and radius by Taubin's method for points about their weighted mean; None for a line."""
    x, y = w.real, w.imag
    size = float(np.sqrt((weight * (x * x + y * y)).sum() / weight.sum()))
    if size == 0.0:
        return 0j, None
    x, y = x / size, y / size
    zz = x * x + y * y
    terms = (x * x, y * y, x * y, x * zz, y * zz, zz * zz)
    mean = [float((weight * v).sum() / weight.sum()) for v in terms]
    root = float(_least_root(*(np.array([v]) for v in mean))[0])
    mxx, myy, mxy, mxz, myz, _ = mean
    det = root * root - root * (mxx + myy) + mxx * myy - mxy * mxy
    if abs(det) < 1e-14:
        return 0j, None
    centre = complex(mxz * (myy - root) - myz * mxy, myz * (mxx - root) - mxz * mxy) / (2 * det)
    radius = float(np.sqrt(abs(centre) ** 2 + mxx + myy))
    return centre * size, radius * size


def _least_root(mxx: Floats, myy: Floats, mxy: Floats, mxz: Floats, myz: Floats, mzz: Floats) -> Floats:
    """Return the mean square distances (k,) of k sets of points from their Taubin circles."""
    mz = mxx + myy
    cov = mxx * myy - mxy * mxy
    var = mzz - mz * mz
    a3 = 4 * mz
    a2 = -3 * mz * mz - mzz
    a1 = var * mz + 4 * cov * mz - mxz * mxz - myz * myz
    a0 = mxz * (mxz * myy - myz * mxy) + myz * (myz * mxx - mxz * mxy) - var * cov
    root = np.zeros_like(mz)
    for _ in range(NEWTON_STEPS):
        value = a0 + root * (a1 + root * (a2 + root * a3))
        slope = a1 + root * (2 * a2 + root * 3 * a3)
        step = np.divide(value, slope, out=np.zeros_like(value), where=np.abs(slope) > 1e-300)
        following = root - step
        # From zero the method climbs to the least root; what rounding throws elsewhere stays where it was.
        climbs = (following > root) & np.isfinite(following)
        if not climbs.any():
            break
        root = np.where(climbs, following, root)
    return np.maximum(root, 0.0)


def fewest_runs(
    z: Complexes, weight: Floats, spacing: float, *, noise: float, width: float, skip: int, ring: bool = False
) -> list[Run]:
    """Return the cheapest division of points (n,), about `spacing` apart, into runs, in order.

    `weight` (n,) is 0 for points that tell nothing. `skip` points at most may be left out between two runs,
    and of a `ring`, whose last point is followed by the first, at its beginning and end too.
    """
    n = len(z)
    if n < 3:
        return [Run(0, n, arc=False)]
    scale = spacing / width / noise**2
    sums = (_terms((z - z[0]) / spacing) * weight).sum(axis=1, keepdims=True)
    lines, arcs = _misfits(sums, spacing)
    line_cost, arc_cost = float(lines[0]) * scale + LINE_PRICE, float(arcs[0]) * scale + ARC_PRICE
    if min(line_cost, arc_cost) <= 2 * LINE_PRICE:
        # Any two runs cost that much. Most seams are one line.
        return [Run(0, n, arc=arc_cost < line_cost and n > TOO_FEW)]
    best = np.full(n + 1, np.inf)
    # From which point on the last run goes, where the one before it ended, and whether it is an arc.
    begun = np.zeros(n + 1, np.int64)
    before = np.zeros(n + 1, np.int64)
    curved = np.zeros(n + 1, bool)
    best[0] = 0.0
    # reach[j]: the cheapest way to tell or skip all before j; source[j]: where the last run ended then.
    reach = np.full(n + 1, np.inf)
    source = np.zeros(n + 1, np.int64)
    reach[0] = 0.0
    cost_skip = SKIP_PRICE * np.arange(skip + 1)
    if ring:
        early = min(skip, n - 2) + 1
        reach[:early] = cost_skip[:early]
    # Runs that may go on, by their beginnings, and the sums (9, k) over their points as seen from there.
    open_ = np.zeros(1, np.intp)
    alone = _terms(np.zeros(1, np.complex128))
    sums = alone * weight[0]
    for i in range(2, n + 1):
        sums += _terms((z[i - 1] - z[open_]) / spacing) * weight[i - 1]
        held = reach[open_]
        total = _line_misfits(sums, spacing) * scale + (held + LINE_PRICE)
        k = int(total.argmin())
        best[i] = total[k]
        if held.min() + ARC_PRICE < best[i] or i % PRUNED == 0:
            arcs = held + _misfits(sums, spacing)[1] * scale
            total = np.where(open_ < i - TOO_FEW, arcs + ARC_PRICE, np.inf)
            least = int(total.argmin())
            if total[least] < best[i]:
                k, best[i], curved[i] = least, total[least], True
            begun[i] = open_[k]
            # A run from a beginning that costs more than ending a run here never becomes the better one.
            promising = (arcs < best[i] - SLACK) | (open_ >= i - YOUNG)
            open_, sums = open_[promising], sums[:, promising]
        else:
            begun[i] = open_[k]
        before[i] = source[begun[i]]
        open_ = np.append(open_, i - 1)
        sums = np.concatenate((sums, alone * weight[i - 1]), axis=1)
        low = max(2, i - skip)
        options = best[low : i + 1] + cost_skip[: i + 1 - low][::-1]
        k = int(np.argmin(options))
        if options[k] < reach[i]:
            reach[i], source[i] = options[k], low + k
    runs = []
    i = int(source[n]) if ring else n
    while i > 0:
        runs.append(Run(int(begun[i]), i, bool(curved[i])))
        i = int(before[i])
    return runs[::-1]


def _terms(w: Complexes) -> Floats:
    """Return what is summed up over points (k,) seen from the beginning of a run: (9, k)."""
    x, y = w.real, w.imag
    zz = x * x + y * y
    return np.stack((np.ones(len(w)), x, y, x * x, y * y, x * y, x * zz, y * zz, zz * zz))


def _line_misfits(m: Floats, unit: float) -> Floats:
    """Return what `_misfits` does of lines alone."""
    mx, my, sxx, syy, sxy = m[1:6] / np.maximum(m[0], 1e-300)
    cxx, cyy = sxx - mx * mx, syy - my * my
    spread = np.hypot(cxx - cyy, 2 * (sxy - mx * my))
    out: Floats = np.maximum(cxx + cyy - spread, 0.0) * m[0] * (unit**2 / 2)
    return out


def _misfits(m: Floats, unit: float) -> tuple[Floats, Floats]:
    """Return the sums of squared distances of k runs' points from their lines and from their circles.

    `m` (9, k) are sums of terms of the points, whose coordinates are in units.
    """
    count = np.maximum(m[0], 1e-300)
    mx, my, sxx, syy, sxy, sxz, syz, szz = m[1:] / count
    cxx, cyy, cxy = sxx - mx * mx, syy - my * my, sxy - mx * my
    # Central moments of z' = |p - mean|² from the raw ones: z' = z - 2 (mx x + my y) + mx² + my².
    shift = mx * mx + my * my
    mean_z = sxx + syy
    cxz = (sxz - mx * mean_z) - 2 * (mx * cxx + my * cxy)
    cyz = (syz - my * mean_z) - 2 * (mx * cxy + my * cyy)
    czz = (
        szz
        - 4 * (mx * sxz + my * syz)
        + 2 * shift * mean_z
        + 4 * (mx * mx * sxx + 2 * mx * my * sxy + my * my * syy)
        - 4 * shift * (mx * mx + my * my)
        + shift * shift
    )
    line = _line_misfits(m, unit)
    return line, np.minimum(_least_root(cxx, cyy, cxy, cxz, cyz, czz) * m[0] * unit**2, line)


def misfit(z: Complexes) -> float:
    """Return the root mean square distance of points (n,) from the line or circle that fits them best."""
    if len(z) < 3:
        return 0.0
    w = z - z[0]
    size = max(float(np.abs(w).max()), 1e-300)
    _, arc = _misfits(_terms(w / size).sum(axis=1, keepdims=True), size)
    return float(np.sqrt(arc[0] / len(z)))
