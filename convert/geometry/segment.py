"""Measures of segments, row by row, in closed form.

*Words.* For a segment from p to q with bulge b: its chord is c = q - p; its sweep is 4 atan(b), so
half the sweep, h = 2 atan(b), is the angle between the chord and the tangent at either end. A
fraction t runs evenly along the length from 0 at p to 1 at q.

No formula goes through the centre where it can be helped: the centre of an arc that is nearly a
line is so far away that coordinates near the arc would drown in rounding. Instead everything is
seen from p, with the vector from the centre to p times 4b: g = -(2b c + (1 - b^2) i c). It has
length |c| (1 + b^2), and for a line it is the chord turned to the right. So lines need no case of
their own.
*Source*: plane trigonometry of the circle (inscribed angles); the rest is derived beside each formula.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.plane import cross, dot, square, to_complex, to_points, unit

if TYPE_CHECKING:
    from convert.geometry.chain import Floats, Segments
    from convert.geometry.plane import Complexes, Ints

NEARLY_FLAT = 0.5
"""Below this sweep (radians), sweep minus sine is summed as a series, because the difference cancels."""
_BATCH = 100_000
"""Segments boxed at a time, to save memory."""
_SERIES = (1 / 6, -1 / 120, 1 / 5040, -1 / 362880, 1 / 39916800, -1 / 6227020800)


def chord(s: Segments) -> Complexes:
    """Return the vectors from start to end, as complex numbers (n,)."""
    out: Complexes = to_complex(s.end) - to_complex(s.start)
    return out


def sweep(s: Segments) -> Floats:
    """Return the angles through which segments turn, radians, left positive, 0 for lines (n,)."""
    out: Floats = 4.0 * np.arctan(s.bulge)
    return out


def lengths(s: Segments) -> Floats:
    """Return the lengths along segments (n,).

    *Source*: length = r sweep and |c| = 2 r sin(h), so length = |c| h / sin(h), sin(h) = 2b / (1 + b^2).
    """
    b = s.bulge
    safe = np.where(b == 0.0, 1.0, b)
    stretch = np.where(b == 0.0, 1.0, np.arctan(safe) / safe * (1.0 + b * b))
    return np.abs(chord(s)) * stretch


def radius(s: Segments) -> Floats:
    """Return the radii, infinite for lines (n,)."""
    b = np.abs(s.bulge)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        size = np.abs(chord(s)) * (1.0 + b * b) / (4.0 * b)
    return np.where(b == 0.0, np.inf, size)


def centre(s: Segments) -> Floats:
    """Return the centres, nan for lines (n, 2)."""
    b = np.where(s.bulge == 0.0, np.nan, s.bulge)
    c = chord(s)
    with np.errstate(over="ignore", invalid="ignore"):
        return to_points(to_complex(s.start) + c / 2 + 1j * c * ((1.0 - b) * (1.0 + b) / (4.0 * b)))


def midpoint(s: Segments) -> Floats:
    """Return the points half way along (n, 2): the chord's middle, moved by the sagitta |c| b / 2."""
    return to_points((to_complex(s.start) + to_complex(s.end)) / 2 - 0.5j * s.bulge * chord(s))


def start_tangent(s: Segments) -> Floats:
    """Return the unit directions in which segments leave their starts (n, 2); (0, 0) without a chord."""
    return to_points(unit(chord(s) * (1.0 - 1j * s.bulge) ** 2))


def end_tangent(s: Segments) -> Floats:
    """Return the unit directions in which segments reach their ends (n, 2); (0, 0) without a chord."""
    return to_points(unit(chord(s) * (1.0 + 1j * s.bulge) ** 2))


def point_at(s: Segments, t: Floats | float) -> Floats:
    """Return the points at fractions `t` of the length: exactly the ends at 0 and 1.

    *Shapes*: `t` is a number, (n,) for one point of each segment, giving (n, 2), or (n, k) for k points of
    each, giving (n, k, 2).
    *Source*: the part up to t has the chord 2 r sin(t h), turned from c by -(1 - t) h; and alike from q.
    """
    share = np.asarray(t, dtype=np.float64)
    p, q, h = to_complex(s.start), to_complex(s.end), 2.0 * np.arctan(s.bulge)
    if share.ndim == 2:
        p, q, h = p[:, None], q[:, None], h[:, None]
    late = share > 0.5
    short = np.where(late, 1.0 - share, share)
    sine = np.sin(h)
    ratio = np.where(sine == 0.0, short, np.sin(short * h) / np.where(sine == 0.0, 1.0, sine))
    turn = (1.0 - short) * h
    step = (q - p) * ratio * np.exp(1j * np.where(late, turn, -turn))
    return to_points(np.where(late, q - step, p + step))


def from_centre(s: Segments) -> Complexes:
    """Return the vectors g from the centre to the start, times 4 b (see above), as complex numbers (n,)."""
    b = s.bulge
    out: Complexes = -(2.0 * b + 1j * (1.0 - b) * (1.0 + b)) * chord(s)
    return out


def side(w: Complexes, g: Complexes, bulge: Floats) -> Floats:
    """Return distances from whole lines and circles, positive on the right of the direction of travel.

    `w` leads from a segment's start to the point; `g` is from_centre.
    *Source*: |X - O| - r = (|w|^2 + 2 w . (p - O)) / (|X - O| + r), top and bottom times 4 b.
    """
    b4 = 4.0 * bulge
    size2, along = square(g), dot(g, w)
    far = np.sqrt(np.maximum(size2 + b4 * (2.0 * along + b4 * square(w)), 0.0)) + np.sqrt(size2)
    out: Floats = (b4 * square(w) + 2.0 * along) / np.where(far > 0.0, far, 1.0)
    return out


def fraction(w: Complexes, g: Complexes, bulge: Floats) -> Floats:
    """Return the fractions of the feet of points on whole lines and circles (see `side`).

    On a circle the fraction lies within half a turn of the start: from -pi / |sweep| to pi / |sweep|.
    *Source*: the angle at the centre from p to X, over the sweep; sine and cosine times (4 b)^2.
    """
    b4 = 4.0 * bulge
    size2 = square(g)
    angle = np.arctan2(b4 * cross(g, w), size2 + b4 * dot(g, w))
    flat = bulge == 0.0
    turn = np.where(flat, 1.0, 4.0 * np.arctan(bulge))
    straight = cross(g, w) / np.where(size2 > 0.0, size2, 1.0)
    out: Floats = np.where(flat, straight, angle / turn)
    return out


def boxes(s: Segments) -> Floats:
    """Return the smallest upright boxes around segments: (n, 4) as xmin, ymin, xmax, ymax."""
    if len(s) <= _BATCH:
        return _boxes(s)
    found = np.empty((len(s), 4))
    for at in range(0, len(s), _BATCH):
        found[at : at + _BATCH] = _boxes(s.take(slice(at, at + _BATCH)))
    return found


def _boxes(s: Segments) -> Floats:
    low, high = np.minimum(s.start, s.end), np.maximum(s.start, s.end)
    for axis in (0, 1):
        rows, place = turning_points(s, axis)
        low[rows, axis] = np.minimum(low[rows, axis], place[:, axis])
        high[rows, axis] = np.maximum(high[rows, axis], place[:, axis])
    return np.concatenate((low, high), axis=1)


def turning_points(s: Segments, axis: int) -> tuple[Ints, Floats]:
    """Return the rows of arcs that turn back in x (axis 0) or y (axis 1) on their way, and where (k, 2).

    An arc of at most a half circle does so at most once, and exactly when its direction's x (or y) changes
    sign from end to end. The place is never short of an end, in spite of rounding.
    """
    arcs = np.flatnonzero(s.bulge)
    table = s.take(arcs)
    leave, arrive = start_tangent(table)[:, axis], end_tangent(table)[:, axis]
    turns = np.flatnonzero(leave * arrive < 0.0)
    rows, table, along = arcs[turns], table.take(turns), leave[turns]
    across = start_tangent(table)[:, 1 - axis]
    # Seen from x, turning to y is turning left; seen from y, turning to x is turning right.
    left = np.sign(table.bulge) * (1.0 if axis == 0 else -1.0)
    angle = np.arctan2(np.abs(along), left * across * np.sign(along))
    place = point_at(table, np.clip(angle / np.abs(sweep(table)), 0.0, 1.0))
    p, q, up = table.start[:, axis], table.end[:, axis], along > 0.0
    least = np.where(up, np.maximum(p, q), np.minimum(p, q))
    place[:, axis] = np.where(up, np.maximum(place[:, axis], least), np.minimum(place[:, axis], least))
    return rows, place


def area_terms(s: Segments) -> Floats:
    """Return terms (n,) that add up to the signed area over the segments of any closed chain in the table.

    Counter-clockwise is positive. A reversed row has exactly the opposite term. Terms refer to the middle of
    the table, to stay exact far from the origin, so terms from two calls don't belong together.
    *Source*: trapezium (triangle from the origin) of the chord, plus the circular segment on it,
    |c|^2 (sweep - sin sweep) / (8 sin^2 h).
    """
    if not len(s):
        return np.zeros(0)
    p, q = to_complex(s.start), to_complex(s.end)
    middle = (p + q) / 2
    low = middle.real.min() + 1j * middle.imag.min()
    high = middle.real.max() + 1j * middle.imag.max()
    return cross(middle - (low + high) / 2, q - p) / 2 + square(q - p) * segment_area(s.bulge)


def segment_area(bulge: Floats) -> Floats:
    """Return the signed areas between arcs and their chords, for chords of length 1 (n,)."""
    turn = 4.0 * np.arctan(bulge)
    small = np.abs(turn) < NEARLY_FLAT
    square_turn = np.where(small, turn * turn, 0.0)
    series = np.zeros_like(turn)
    for factor in reversed(_SERIES):
        series = series * square_turn + factor
    flat = series * square_turn * turn
    sine2 = np.sin(turn / 2) ** 2
    safe = np.where(sine2 > 0.0, sine2, 1.0)
    # For the smallest bulges sweep^3 would underflow; the limit is bulge / 3.
    tiny = np.abs(turn) < 1e-8
    out: Floats = np.where(tiny, bulge / 3, np.where(small, flat, turn - np.sin(turn)) / (8.0 * safe))
    return out
