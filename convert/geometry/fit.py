"""Fitting of drawn curves, Bézier curves and parts of ellipses, by circular arcs and lines.

Every result starts and ends exactly at its curve's ends, has its other vertices on the curve, is
smooth where the curve is, and is nowhere farther from the curve than the tolerance, nor the curve
from it. Straight curves become lines, also those that go out and back along themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.arcspline import Pieces, Spans, directions, fit_spans, unit
from convert.geometry.chain import Segments
from convert.geometry.parametric import Ellipses, Polynomials
from convert.geometry.plane import cross, to_complex, to_points

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from convert.geometry.chain import Floats
    from convert.geometry.parametric import Curves
    from convert.geometry.plane import Complexes, Flags, Ints

STRAIGHT = 0.1
"""A curve nearer to its chord than this share of the tolerance is a line."""
SAME_END = 1e-6
"""A cut nearer to an end of its curve than this (parameter of a cubic, radians of an ellipse) is left out."""


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """What stands for n curves: k segments in drawing order.

    *Shapes*: `curve` (k,) says which curve each segment is part of, in rising order; `error` (n,)
    bounds the distance between each curve and its segments, either way, in the unit of the points.
    A curve without length (for parts of ellipses: below 1e-9 of the tolerance) has no segments.
    """

    segments: Segments
    curve: Ints
    error: Floats


def fit_cubics(control: ArrayLike, tolerance: float) -> Fitted:
    """Fit Bézier cubics given by control points (n, 4, 2).

    *Errors*: GeometryError for numbers that are not finite, or a tolerance that is not above the
    rounding of the coordinates.
    """
    points = _complex(control, (4,))
    ends = points[:, [0, 3]]
    origin = ends.mean(axis=1)
    size = np.abs(points - origin[:, None]).max(axis=1, initial=0.0)
    _check_tolerance(tolerance, points, size)
    local = points - origin[:, None]
    width, way = _width(local)
    straight = width <= STRAIGHT * tolerance
    curves = Polynomials.from_bezier(local)
    pieces = [
        _out_and_back(curves, np.flatnonzero(straight), way, width, ends, tolerance),
        fit_spans(curves, _cubic_spans(curves, np.flatnonzero(~straight), size, tolerance), tolerance),
    ]
    return _assembled(curves, pieces, origin, ends, tolerance)


def fit_quadratics(control: ArrayLike, tolerance: float) -> Fitted:
    """Fit quadratic Bézier curves given by control points (n, 3, 2); errors as for cubics."""
    q = _complex(control, (3,))
    handles = ((q[:, 0] + 2 * q[:, 1]) / 3, (q[:, 2] + 2 * q[:, 1]) / 3)
    cubic = np.stack((q[:, 0], *handles, q[:, 2]), axis=1)
    return fit_cubics(np.stack((cubic.real, cubic.imag), axis=-1), tolerance)


def fit_ellipse_arcs(
    centre: ArrayLike, axes: ArrayLike, start_angle: ArrayLike, sweep: ArrayLike, tolerance: float
) -> Fitted:
    """Fit parts of ellipses: points centre + axes[0] cos(angle) + axes[1] sin(angle).

    *Shapes*: `centre` (n, 2); `axes` (n, 2, 2), the images of the unit circle's x and y axes, so an
    ellipse after any affine map; `start_angle` and `sweep` (n,) in radians of the parameter, at most
    a full turn either way. A circle becomes equal arcs of at most a half circle each. An ellipse
    is cut at its four vertices and has the same arcs, mirrored, in every whole quarter.
    *Errors*: GeometryError as for cubics, and for a sweep of more than a full turn.
    """
    middle, axis = _complex(centre, ()), _complex(axes, (2,))
    start = np.asarray(start_angle, dtype=np.float64).reshape(-1)
    turn = np.asarray(sweep, dtype=np.float64).reshape(-1)
    if not (np.isfinite(start).all() and np.isfinite(turn).all()):
        raise GeometryError.because("GEO-030", "an angle of an elliptical arc is not a finite number")
    if (np.abs(turn) > 2 * np.pi * (1 + 1e-9)).any():
        raise GeometryError.because("GEO-031", "an elliptical arc sweeps more than a full turn")
    turn = np.clip(turn, -2 * np.pi, 2 * np.pi)
    u, v = axis[:, 0], axis[:, 1]
    # A e^(ia) turns one way, B e^(-ia) the other: the semi-axes are |A| + |B| and |A| - |B|.
    forward, backward = (u - 1j * v) / 2, (u + 1j * v) / 2
    minor = 2 * np.minimum(np.abs(forward), np.abs(backward))
    size = np.abs(forward) + np.abs(backward)
    _check_tolerance(tolerance, middle[:, None], size)
    curves = Ellipses(np.zeros(len(u), dtype=np.complex128), u, v, start, turn)
    ends = curves.derivatives(np.tile([0.0, 1.0], (len(u), 1)), 0)[0]
    full = np.abs(turn) > 2 * np.pi * (1 - 1e-12)
    ends[full, 1] = ends[full, 0]
    still = size * np.abs(turn) <= 1e-9 * tolerance
    flat = ~still & (np.abs(np.abs(forward) - np.abs(backward)) <= STRAIGHT * tolerance)
    # Four times the smaller part bounds the distance from the arcs through the same ends.
    circular = ~still & ~flat & (2 * minor <= STRAIGHT * tolerance)
    rest = ~(still | flat | circular)
    spans = _ellipse_spans(curves, np.flatnonzero(rest), forward, backward, tolerance)
    pieces = [
        _circle_arcs(np.flatnonzero(circular), turn, np.abs(forward) > np.abs(backward), 2 * minor),
        _flat_ellipse(curves, np.flatnonzero(flat), forward, backward),
        fit_spans(curves, spans, tolerance),
    ]
    fitted = _assembled(curves, pieces, middle, ends + middle[:, None], tolerance)
    return _without_vertices_inside_arcs(fitted)


def _complex(values: ArrayLike, shape: tuple[int, ...]) -> Complexes:
    array = np.asarray(values, dtype=np.float64).reshape(-1, *shape, 2)
    if not np.isfinite(array).all():
        raise GeometryError.because("GEO-032", "a control point of a curve is not a finite number")
    return to_complex(array)


def _check_tolerance(tolerance: float, points: Complexes, size: Floats) -> None:
    largest = max(np.abs(points).max(initial=0.0), size.max(initial=0.0))
    if not (np.isfinite(tolerance) and tolerance > 0 and largest * 1e-11 <= tolerance):
        raise GeometryError.because(
            "GEO-033",
            f"curves of coordinates up to {largest:g} can't be fitted within {tolerance:g}",
            "Use a tolerance above the rounding of the coordinates",
        )


def _width(local: Complexes) -> tuple[Floats, Complexes]:
    """Return how far cubics reach from the line through their farthest control points, and its way."""
    first, second = np.triu_indices(4, 1)
    across = local[:, second] - local[:, first]
    row, widest = np.arange(len(local)), np.abs(across).argmax(axis=1)
    way = unit(across[row, widest])
    off = cross(way[:, None], local - local[row, first[widest]][:, None])
    return np.abs(off).max(axis=1), way


def _out_and_back(
    curves: Polynomials, rows: Ints, way: Complexes, width: Floats, ends: Complexes, tolerance: float
) -> Pieces:
    """Return lines for straight cubics along `way`: to where they turn round, if they do, and on."""
    _, b, c, d = curves.coefficient[rows].T * np.conj(way[rows])
    # Roots of the speed along the line, 3 d t^2 + 2 c t + b, in the form that loses no digits.
    qa, qb, qc = 3 * d.real, 2 * c.real, b.real
    root = np.sqrt(np.maximum(qb**2 - 4 * qa * qc, 0.0))
    q = -(qb + np.where(qb < 0, -1.0, 1.0) * root) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        turns = np.stack((q / qa, qc / q), axis=1)
    turns = np.where((turns > 0) & (turns < 1) & (root > 0)[:, None], turns, np.nan)
    turns = np.sort(turns, axis=1)  # absent ones last
    least = STRAIGHT * tolerance
    t = np.concatenate((np.zeros((len(rows), 1)), turns, np.ones((len(rows), 1))), axis=1)
    z = curves.take(rows).derivatives(np.nan_to_num(t, nan=1.0), 0)[0]
    one, two = ~np.isnan(turns[:, 0]), ~np.isnan(turns[:, 1])
    middle = two & (np.abs(z[:, 2] - z[:, 1]) <= least)
    one &= (np.abs(z[:, 1] - z[:, 0]) > least) & ~middle
    last = np.where(two, 2, 1)
    ending = np.abs(z[:, 3] - z[np.arange(len(rows)), last]) > least
    one &= two | ending
    two &= ending & ~middle
    lines = [
        (rows[keep], first[keep], end[keep])
        for keep, first, end in (
            (one, t[:, 0], t[:, 1]),
            (two, np.where(one, t[:, 1], 0.0), t[:, 2]),
            (
                one | two | (ends[rows, 0] != ends[rows, 1]),
                np.where(two, t[:, 2], np.where(one, t[:, 1], 0.0)),
                t[:, 3],
            ),
        )
    ]
    row, first, end = (np.concatenate(column) for column in zip(*lines, strict=True))
    dropped = np.zeros(len(width))
    dropped[rows[one.astype(int) + two < (~np.isnan(turns)).sum(axis=1)]] = least
    return Pieces(row, first, end, np.zeros(len(row)), 2 * width[row] + dropped[row])


def _cubic_spans(curves: Polynomials, rows: Ints, size: Floats, tolerance: float) -> Spans:
    """Cut cubics at spikes of curvature: where they are slowest, if the bend there is tight.

    At a bend tighter than the tolerance (a cusp, or a handle too short to mean its direction) there is no
    common direction: each side leaves in the direction it has once it is clear of the bend.
    """
    chosen = curves.take(rows)
    which, cut = _slowest(chosen)
    z, d1, d2 = (x[:, 0] for x in chosen.take(which).derivatives(cut[:, None], 2))
    speed = np.abs(d1)
    bend = np.abs(cross(d1, d2))
    narrow = speed**3 <= 100 * tolerance * bend
    narrow |= speed <= 1e-6 * size[rows][which]
    ends = chosen.derivatives(np.tile([0.0, 1.0], (len(rows), 1)), 0)[0]
    clear = np.abs(ends[which] - z[:, None]).min(axis=1) > tolerance
    which, cut = which[narrow & clear], cut[narrow & clear]
    owner = np.concatenate((np.arange(len(rows)), which))
    first = np.concatenate((np.zeros(len(rows)), cut))
    order = np.lexsort((first, owner))
    owner, first = owner[order], first[order]
    last = _part_ends(first)
    leave = _direction(chosen, owner, first, 1.0, size[rows], tolerance)
    arrive = _direction(chosen, owner, last, -1.0, size[rows], tolerance)
    return Spans(rows[owner], first, last, leave, arrive)


def _part_ends(first: Floats) -> Floats:
    """Return where each part of a curve ends: at the next one's start, the last part at 1."""
    following = np.roll(first, -1)
    return np.where(following == 0.0, 1.0, following)


def _slowest(curves: Polynomials) -> tuple[Ints, Floats]:
    """Return curve and parameter of every least speed inside a cubic, by bisection."""
    t = np.linspace(0.0, 1.0, 34)

    def change(rows: Curves, at: Floats) -> Floats:
        _, d1, d2 = rows.derivatives(at, 2)
        return d1.real * d2.real + d1.imag * d2.imag

    value = change(curves, np.broadcast_to(t, (len(curves.coefficient), len(t))))
    row, cell = np.nonzero((value[:, :-1] <= 0) & (value[:, 1:] > 0))
    low, high = t[cell], t[cell + 1]
    chosen = curves.take(row)
    for _ in range(50):
        middle = (low + high) / 2
        up = change(chosen, middle[:, None])[:, 0] > 0
        low, high = np.where(up, low, middle), np.where(up, middle, high)
    found = (low + high) / 2
    inside = (found > SAME_END) & (found < 1 - SAME_END)
    return row[inside], found[inside]


def _direction(
    curves: Curves, rows: Ints, t: Floats, forward: float, size: Floats, tolerance: float
) -> Complexes:
    """Return the unit direction of travel at t, on the side after it (`forward` 1) or before it (-1)."""
    chosen = curves.take(rows)
    z, d1, d2, d3 = (x[:, 0] for x in chosen.derivatives(t[:, None], 3))
    out = directions(d1, d2, d3, forward, size[rows])
    speed = np.abs(d1)
    tight = (speed > 1e-9 * size[rows]) & (speed**3 < tolerance * np.abs(cross(d1, d2)))
    at = np.flatnonzero(tight)
    for step in 2.0 ** -np.arange(20, 2, -1):
        if not len(at):
            break
        there = np.clip(t[at] + forward * step, 0.0, 1.0)
        y, e1, e2 = (x[:, 0] for x in chosen.take(at).derivatives(there[:, None], 2))
        fast = np.abs(e1)
        clear = (fast**3 >= tolerance * np.abs(cross(e1, e2))) & (np.abs(y - z[at]) >= tolerance / 4)
        out[at[clear]] = e1[clear] / fast[clear]
        at = at[~clear]
    return out


def _ellipse_spans(
    curves: Ellipses, rows: Ints, forward: Complexes, backward: Complexes, tolerance: float
) -> Spans:
    """Cut ellipses at their vertices: the ends of both axes."""
    owner, t = _ellipse_cuts(curves, rows, forward, backward, np.pi / 2)
    last = _part_ends(t)
    size = np.abs(forward) + np.abs(backward)
    leave = _direction(curves, owner, t, 1.0, size, tolerance)
    arrive = _direction(curves, owner, last, -1.0, size, tolerance)
    return Spans(owner, t, last, leave, arrive)


def _ellipse_cuts(
    curves: Ellipses, rows: Ints, forward: Complexes, backward: Complexes, step: float
) -> tuple[Ints, Floats]:
    """Return the starts of the parts between vertices `step` apart, from an end of the longer axis on."""
    # |A e^(ia) + B e^(-ia)| is greatest where both point the same way.
    far = np.angle(backward[rows] * np.conj(forward[rows])) / 2
    low = np.minimum(curves.start, curves.start + curves.sweep)[rows]
    number = np.ceil((low - far) / step)[:, None] + np.arange(round(2 * np.pi / step) + 1)
    angle = far[:, None] + number * step
    share = (angle - curves.start[rows, None]) / curves.sweep[rows, None]
    margin = SAME_END / np.abs(curves.sweep[rows, None])
    row, column = np.nonzero((share > margin) & (share < 1 - margin))
    owner = np.concatenate((rows, rows[row]))
    t = np.concatenate((np.zeros(len(rows)), share[row, column]))
    order = np.lexsort((t, owner))
    return owner[order], t[order]


def _flat_ellipse(curves: Ellipses, rows: Ints, forward: Complexes, backward: Complexes) -> Pieces:
    """Return lines for ellipses without width, to and fro between the ends of the longer axis."""
    owner, t = _ellipse_cuts(curves, rows, forward, backward, np.pi)
    last = _part_ends(t)
    width = np.abs(np.abs(forward) - np.abs(backward))[owner]
    return Pieces(owner, t, last, np.zeros(len(t)), 2 * width)


def _circle_arcs(rows: Ints, sweep: Floats, kept: Flags, error: Floats) -> Pieces:
    """Return equal arcs of at most a half circle; `kept` says where the map keeps the sense of turning."""
    parts = np.maximum(1, np.ceil(np.abs(sweep[rows]) / np.pi - 1e-9)).astype(np.intp)
    owner = np.repeat(rows, parts)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
    count = np.repeat(parts, parts)
    turn = np.where(kept[owner], sweep[owner], -sweep[owner])
    bulge = np.clip(np.tan(turn / count / 4), -1.0, 1.0)
    return Pieces(owner, number / count, (number + 1) / count, bulge, error[owner])


def _assembled(
    curves: Curves, pieces: list[Pieces], origin: Complexes, ends: Complexes, tolerance: float
) -> Fitted:
    """Put pieces in drawing order and join them head to tail, with the given ends."""
    row = np.concatenate([p.row for p in pieces])
    first = np.concatenate([p.first for p in pieces])
    order = np.lexsort((first, row))
    row, first = row[order], first[order]
    bulge = np.concatenate([p.bulge for p in pieces])[order]
    error = np.zeros(len(origin))
    np.maximum.at(error, row, np.concatenate([p.error for p in pieces])[order])
    start = curves.take(row).derivatives(first[:, None], 0)[0][:, 0] + origin[row]
    opening = np.append(True, row[1:] != row[:-1])[: len(row)]
    start[opening] = ends[row[opening], 0]
    closing = np.append(opening[1:], True)[: len(row)]
    end = np.append(start[1:], 0)[: len(row)]
    end[closing] = ends[row[closing], 1]
    # An arc that rises by a millionth of the tolerance is a line with an ill-conditioned centre.
    bulge[np.abs(bulge) * np.abs(end - start) / 2 <= 1e-6 * tolerance] = 0.0
    # Rounding of sums far from the origin comes on top of what was measured near it.
    error[row] += 4 * np.finfo(np.float64).eps * np.abs(ends[row]).max(axis=1)
    return Fitted(Segments(to_points(start), to_points(end), bulge), row, error)


def _without_vertices_inside_arcs(fitted: Fitted) -> Fitted:
    """Join the two arcs of one circle that meet at an ellipse's vertex, being each other's mirror image."""
    s = fitted.segments
    if len(s) < 2:
        return fitted
    chord = s.end - s.start
    z = chord[:, 0] + 1j * chord[:, 1]
    half = 2 * np.arctan(s.bulge)
    size = np.abs(z)
    curvature = 2 * np.sin(half) / size
    kink = np.angle(z[1:] * np.conj(z[:-1])) - half[1:] - half[:-1]
    same = (
        (fitted.curve[1:] == fitted.curve[:-1])
        & (np.abs(kink) < 1e-8)
        & (np.abs(curvature[1:] - curvature[:-1]) <= 1e-8 * np.abs(curvature[1:]))
        & (np.abs(half[1:] + half[:-1]) < np.pi / 2)
        & (s.bulge[1:] * s.bulge[:-1] > 0)
    )
    # One pair at a time: a third arc of the same circle stays.
    for i in np.flatnonzero(same[1:] & same[:-1]):
        same[i + 1] &= not same[i]
    into = np.append(same, False)
    gone = np.append(False, same)
    bulge = s.bulge.copy()
    bulge[into] = np.tan((half[:-1] + half[1:])[same] / 2)
    end = s.end.copy()
    end[into] = s.end[gone]
    return Fitted(Segments(s.start[~gone], end[~gone], bulge[~gone]), fitted.curve[~gone], fitted.error)
