"""Where segments meet: against analysis, against dense sampling, and the same however the pair is given."""

from dataclasses import dataclass
from itertools import product
from time import perf_counter

import numpy as np
import pytest
import shapely
from curves import BULGES, SETTINGS, backwards, moves, on_circle
from hypothesis import assume, given
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.intersect import Meeting, intersect
from convert.geometry.measure import lengths, point_at

SAME = 7.3e-7
"""Of no relation to any length in the cases, so that none is decided by rounding."""
RIGHT = float(np.tan(np.pi / 8))
"""Bulge of a quarter circle."""
near = st.integers(-3, 3).map(lambda v: v * 10.0)
point = st.tuples(near, near)
segment = st.tuples(point, point, st.sampled_from(BULGES)).filter(lambda s: s[0] != s[1])


def table(*rows) -> Segments:
    """Return rows (start, end, bulge) as a table."""
    start, end, bulge = zip(*rows, strict=True)
    return Segments(np.array(start, float), np.array(end, float), np.array(bulge, float))


@dataclass
class One:
    """The meeting of one pair."""

    kind: Meeting
    points: list
    t_a: list
    t_b: list


def meet(a, b, same_point=SAME) -> One:
    """Return how two segments (start, end, bulge) meet."""
    m = intersect(table(a), table(b), same_point)
    n = m.count[0]
    assert np.isnan(m.points[0, n:]).all()
    assert np.isnan(m.t_a[0, n:]).all()
    return One(Meeting(m.kind[0]), m.points[0, :n].tolist(), m.t_a[0, :n].tolist(), m.t_b[0, :n].tolist())


LINE = ((0, 0), (10, 0), 0)
HALF = ((0, 0), (20, 0), 1)  # centre (10, 0), below the axis
CASES = {
    "lines cross": (LINE, ((5, -5), (5, 5), 0), Meeting.CROSS, [(5, 0)]),
    "lines meet at ends": (LINE, ((10, 0), (20, 5), 0), Meeting.TOUCH, [(10, 0)]),
    "line ends on line": (LINE, ((5, 0), (5, 5), 0), Meeting.TOUCH, [(5, 0)]),
    "parallel lines": (LINE, ((0, 1), (10, 1), 0), Meeting.NONE, []),
    "lines on one line, apart": (LINE, ((11, 0), (15, 0), 0), Meeting.NONE, []),
    "lines on one line, end to end": (LINE, ((10, 0), (15, 0), 0), Meeting.TOUCH, [(10, 0)]),
    "lines share a part": (LINE, ((4, 0), (15, 0), 0), Meeting.OVERLAP, [(4, 0), (10, 0)]),
    "line within line, opposite": (LINE, ((7, 0), (4, 0), 0), Meeting.OVERLAP, [(4, 0), (7, 0)]),
    "same line": (LINE, LINE, Meeting.OVERLAP, [(0, 0), (10, 0)]),
    "same line, opposite": (LINE, ((10, 0), (0, 0), 0), Meeting.OVERLAP, [(0, 0), (10, 0)]),
    "line crosses arc once": (((10, 0), (10, -20), 0), HALF, Meeting.CROSS, [(10, -10)]),
    "line crosses arc twice": (((0, -6), (20, -6), 0), HALF, Meeting.CROSS, [(2, -6), (18, -6)]),
    "line is tangent to arc": (((0, -10), (20, -10), 0), HALF, Meeting.TOUCH, [(10, -10)]),
    "line ends in the tangent point": (((10, -10), (20, -10), 0), HALF, Meeting.TOUCH, [(10, -10)]),
    "line misses arc": (((0, -11), (20, -11), 0), HALF, Meeting.NONE, []),
    "line passes the open side": (((5, 1), (15, 1), 0), HALF, Meeting.NONE, []),
    "chord and arc": (((0, 0), (20, 0), 0), HALF, Meeting.TOUCH, [(0, 0), (20, 0)]),
    "arc's end and a crossing": (((0, 0), (14, -14), 0), HALF, Meeting.CROSS, [(0, 0), (10, -10)]),
    "arcs cross twice": (HALF, ((0, -12), (20, -12), -1), Meeting.CROSS, [(2, -6), (18, -6)]),
    "arcs touch from outside": (HALF, ((0, -20), (20, -20), -1), Meeting.TOUCH, [(10, -10)]),
    "arcs touch from inside": (HALF, ((5, -5), (15, -5), 1), Meeting.TOUCH, [(10, -10)]),
    "arcs around one centre": (HALF, ((1, 0), (19, 0), 1), Meeting.NONE, []),
    "two halves of a circle": (HALF, ((20, 0), (0, 0), 1), Meeting.TOUCH, [(0, 0), (20, 0)]),
    "two halves, same ends": (HALF, ((0, 0), (20, 0), -1), Meeting.TOUCH, [(0, 0), (20, 0)]),
    "same arc": (HALF, HALF, Meeting.OVERLAP, [(0, 0), (20, 0)]),
    "same arc, opposite": (HALF, ((20, 0), (0, 0), -1), Meeting.OVERLAP, [(0, 0), (20, 0)]),
    "arcs share a quarter": (HALF, ((10, -10), (10, 10), 1), Meeting.OVERLAP, [(10, -10), (20, 0)]),
    "share a quarter, opposite": (HALF, ((10, 10), (10, -10), -1), Meeting.OVERLAP, [(10, -10), (20, 0)]),
    "quarters, end to end": (
        ((0, 0), (10, -10), RIGHT), ((10, -10), (20, 0), RIGHT), Meeting.TOUCH, [(10, -10)]),
    "quarters, opposite each other": (
        ((0, 0), (10, -10), RIGHT), ((20, 0), (10, 10), RIGHT), Meeting.NONE, []),
    "arc runs on straight": (HALF, ((20, 0), (20, 10), 0), Meeting.TOUCH, [(20, 0)]),
    "cusp": (HALF, ((20, 0), (30, 0), -1), Meeting.TOUCH, [(20, 0)]),
    "flat arc on its chord": (LINE, ((0, 0), (10, 0), 1e-9), Meeting.OVERLAP, [(0, 0), (10, 0)]),
    "flat arcs cross": (((0, 0), (10, 10), 1e-9), ((0, 10), (10, 0), -1e-9), Meeting.CROSS, [(5, 5)]),
    "flat arc crosses half circle": (((10, 0), (10, -20), 1e-9), HALF, Meeting.CROSS, [(10, -10)]),
    "flat arc is tangent": (((0, -10), (20, -10), 1e-9), HALF, Meeting.TOUCH, [(10, -10)]),
}  # fmt: skip


def turned(s, k):
    """Return the segment turned by k quarters, and for k >= 4 mirrored as well."""
    (p, q, b) = s
    way = 1j ** (k % 4)
    ends = [complex(*z) * way if k < 4 else (complex(*z) * way).conjugate() for z in (p, q)]
    return ((ends[0].real, ends[0].imag), (ends[1].real, ends[1].imag), b if k < 4 else -b)


@pytest.mark.parametrize("name", CASES)
def test_analytic_cases(name):
    """Each kind of meeting is told with its exact points, in all turns, mirrors and orders."""
    a, b, kind, at = CASES[name]
    for k, swapped in product(range(8), (False, True)):
        pair = turned(a, k), turned(b, k)
        got = meet(*(pair[::-1] if swapped else pair))
        assert got.kind is kind
        expected = sorted(turned((p, p, 0), k)[0] for p in at)
        # The flat arcs leave their chords by less than 1e-8.
        assert np.allclose(sorted(np.round(got.points, 7).tolist()), np.round(expected, 7), atol=1e-7)


@SETTINGS
@given(st.lists(st.tuples(segment, segment), min_size=1, max_size=12), moves)
def test_the_same_however_given(pairs, move):
    """Order, direction, turn, mirror, scale and distance from the origin change nothing but rounding."""
    a, b = (table(*rows) for rows in zip(*pairs, strict=True))
    m = intersect(a, b, SAME)

    def check(other, back=None, t_a=None, t_b=None):
        assert other.kind.tolist() == m.kind.tolist()
        assert other.count.tolist() == m.count.tolist()
        points = other.points if back is None else back.points(other.points)
        for i, n in enumerate(m.count):
            order = np.argsort(t_a[i, :n])
            assert np.abs(points[i, order] - m.points[i, :n]).max(initial=0.0) < 1e-7
            assert np.abs(t_a[i, order] - m.t_a[i, :n]).max(initial=0.0) * lengths(a)[i] < 1e-7
            assert np.abs(t_b[i, order] - m.t_b[i, :n]).max(initial=0.0) * lengths(b)[i] < 1e-7

    swapped = intersect(b, a, SAME)
    check(swapped, None, swapped.t_b, swapped.t_a)
    back_a = intersect(backwards(a), b, SAME)
    check(back_a, None, 1 - back_a.t_a, back_a.t_b)
    back_b = intersect(a, backwards(b), SAME)
    check(back_b, None, back_b.t_a, 1 - back_b.t_b)
    moved = intersect(move.segments(a), move.segments(b), SAME * move.scale)
    check(moved, move.inverse(), moved.t_a, moved.t_b)


@SETTINGS
@given(segment, segment)
def test_points_lie_on_both(a, b):
    """Every point is at its fractions on both segments; fractions are sorted, and exact at ends."""
    m = intersect(table(a), table(b), SAME)
    for j in range(m.count[0]):
        for s, t in ((a, m.t_a), (b, m.t_b)):
            assert 0 <= t[0, j] <= 1
            assert np.hypot(*(point_at(table(s), t[:, j])[0] - m.points[0, j])) <= SAME
            for end, value in ((s[0], 0.0), (s[1], 1.0)):
                if np.hypot(*(m.points[0, j] - end)) < 0.999 * SAME:
                    assert t[0, j] == value
    assert m.count[0] < 2 or m.t_a[0, 0] < m.t_a[0, 1]


free = st.floats(-30, 30).map(lambda v: round(v, 5))
bow = st.one_of(st.just(0.0), st.floats(-1, 1).map(lambda v: round(v, 5)))
loose = st.tuples(st.tuples(free, free), st.tuples(free, free), bow).filter(
    lambda s: np.hypot(s[0][0] - s[1][0], s[0][1] - s[1][1]) > 1
)


@SETTINGS
@given(loose, loose)
def test_crossings_are_those_of_fine_chords(a, b):
    """Fine polylines (shapely) cross as often and within their own sagitta of the same places."""
    t = np.linspace(0, 1, 801)
    lines = [shapely.LineString(on_circle(p, q, v, t)) for p, q, v in (a, b)]
    got = meet(a, b)
    # Chords leave arcs by at most length sweep / (8 * 800^2) < 6e-5. Where an end is about as near, or
    # the curves run along each other, the polylines may cross more or less often.
    ends = [shapely.Point(p) for s in (a, b) for p in s[:2]]
    assume(min(lines[1].distance(ends[0]), lines[1].distance(ends[1])) > 1e-3)
    assume(min(lines[0].distance(ends[2]), lines[0].distance(ends[3])) > 1e-3)
    for one, other in (lines, lines[::-1]):
        assume((shapely.distance(shapely.points(one.coords), other) < 1e-3).sum() < 3)
    common = [c for c in shapely.get_parts(lines[0].intersection(lines[1])) if not c.is_empty]
    assert len(common) == len(got.points)
    for at in got.points:
        assert min(shapely.Point(at).distance(c) for c in common) < 1e-2
    assert got.kind is (Meeting.CROSS if got.points else Meeting.NONE)


@SETTINGS
@given(segment, st.lists(st.sampled_from([k / 10 for k in range(11)]), min_size=4, max_size=4, unique=True))
def test_parts_of_one_segment_share_what_they_share(s, cuts):
    """Two parts of one line or arc, either way round, overlap in just the common stretch."""
    whole = table(s)
    a0, a1, b0, b1 = cuts

    def cut(t0, t1):
        start, end = point_at(whole, t0)[0], point_at(whole, t1)[0]
        return (tuple(start), tuple(end), float(np.tan((t1 - t0) * np.arctan(s[2]))))

    got = meet(cut(a0, a1), cut(b0, b1), 1e-7)
    low, high = max(min(a0, a1), min(b0, b1)), min(max(a0, a1), max(b0, b1))
    if high <= low:
        # All four cuts differ, so parts that don't overlap are apart, unless a half circle's ends coincide.
        assert got.kind is Meeting.NONE
        return
    assert got.kind is Meeting.OVERLAP
    expected = sorted(((low - a0) / (a1 - a0), (high - a0) / (a1 - a0)))
    assert got.t_a == pytest.approx(expected, abs=1e-9)
    expected = [low, high] if a1 > a0 else [high, low]
    for at, t in zip(got.points, expected, strict=True):
        assert at == pytest.approx(point_at(whole, t)[0].tolist(), abs=1e-7)


@pytest.mark.parametrize("depth", [k * SAME for k in (3, 1.1, 0.9, 0.001, 0, -0.001, -0.9, -1.1)])
def test_tangency_is_decided_by_depth(depth):
    """A line as deep in an arc as a point touches it once; deeper it crosses twice, farther it misses."""
    line = ((0, -10 + depth), (20, -10 + depth), 0)
    got = meet(line, HALF)
    expected = Meeting.TOUCH if abs(depth) <= SAME else Meeting.CROSS if depth > 0 else Meeting.NONE
    assert got.kind is expected
    if expected is Meeting.TOUCH:
        assert got.points[0] == pytest.approx([10, -10], abs=2e-6)
    if expected is Meeting.CROSS:
        half = np.sqrt(10**2 - (10 - depth) ** 2)
        assert sorted(p[0] for p in got.points) == pytest.approx([10 - half, 10 + half], abs=1e-6)


@pytest.mark.parametrize("gap", [0.0, 0.4 * SAME, 0.9 * SAME, 2 * SAME])
def test_snapping_to_ends(gap):
    """What is within a point of an end is that end, with its fraction exact; what is farther is not."""
    got = meet(LINE, ((10 + gap, 0), (15, 7), 0))
    if gap <= SAME:
        assert (got.kind, got.t_a, got.t_b) == (Meeting.TOUCH, [1.0], [0.0])
        assert got.points[0] == pytest.approx([10 + gap / 2, 0], abs=1e-15)
    else:
        assert got.kind is Meeting.NONE
    got = meet(LINE, ((5, gap), (5, 7), 0))
    if gap <= SAME:
        assert (got.kind, got.t_b, got.points) == (Meeting.TOUCH, [0.0], [[5, gap]])
    else:
        assert got.kind is Meeting.NONE
    # Crossing just beside an end is meeting at the end.
    got = meet(LINE, ((5, -gap), (5, 7), 0))
    assert got.kind is (Meeting.TOUCH if gap <= SAME else Meeting.CROSS)


def test_shallow_lines_meet_once():
    """Lines from one point at a tiny angle meet there only, unless they stay within a point all the way."""
    for rise, kind in ((1e-3, Meeting.TOUCH), (2 * SAME, Meeting.TOUCH), (0.9 * SAME, Meeting.OVERLAP)):
        assert meet(LINE, ((0, 0), (10, rise), 0)).kind is kind
    crossing = meet(LINE, ((0, -1e-3), (10, 1e-3), 0))
    assert crossing.kind is Meeting.CROSS
    assert crossing.points[0] == pytest.approx([5, 0], abs=1e-9)
    # An end within a point of the other line, the exact crossing 1000 points away: still one meeting.
    end = meet(LINE, ((1, 0.5e-6), (10, -1e-2), 0))
    assert (end.kind, end.t_b) == (Meeting.TOUCH, [0.0])


def test_far_from_the_origin():
    """A hundred metres away the same segments meet in the same places to a millionth of a millimetre."""
    random = np.random.default_rng(11)
    start, end = random.uniform(-30, 30, (2, 4000, 2))
    bulge = np.where(random.random(4000) < 0.4, 0.0, random.uniform(-1, 1, 4000))
    s = Segments(start, end, bulge)
    other = s.take(random.permutation(4000))
    far = np.array([1e5, -1e5])
    here = intersect(s, other, 1e-7)
    a, b = (Segments(x.start + far, x.end + far, x.bulge) for x in (s, other))
    there = intersect(a, b, 1e-7)
    assert (here.count == there.count).mean() > 0.999
    same = here.count == there.count
    assert np.nanmax(np.abs(there.points[same] - far - here.points[same])) < 1e-6


def test_degenerate_segments():
    """A segment without length meets what passes through it, and nothing else; empty tables nothing."""
    dot = ((5, 0), (5, 0), 0.5)
    assert meet(LINE, dot).points == [[5, 0]]
    assert meet(dot, LINE).kind is Meeting.TOUCH
    assert meet(((5, 1), (5, 1), 0), LINE).kind is Meeting.NONE
    assert meet(dot, dot).kind is Meeting.TOUCH
    assert meet(HALF, ((10, -10), (10, -10), 1)).kind is Meeting.TOUCH
    none = Segments(np.zeros((0, 2)), np.zeros((0, 2)), [])
    assert len(intersect(none, none, SAME).kind) == 0


def test_refusals():
    """Tables of different lengths and a same_point of nothing are errors; results can't be changed."""
    with pytest.raises(GeometryError, match="different lengths"):
        intersect(table(LINE), table(LINE, HALF), SAME)
    with pytest.raises(GeometryError, match="more than 0"):
        intersect(table(LINE), table(HALF), 0.0)
    with pytest.raises(ValueError, match="read-only"):
        intersect(table(LINE), table(HALF), SAME).t_a[0] = 1


def test_speed():
    """Two hundred thousand pairs of any kind take less than a second (about a tenth on an idle machine)."""
    random = np.random.default_rng(12)
    start, end = random.random((2, 400_000, 2))
    bulge = np.where(random.random(400_000) < 0.5, 0.0, random.uniform(-1, 1, 400_000))
    both = Segments(start, end, bulge)
    a, b = both.take(slice(0, 200_000)), both.take(slice(200_000, None))
    best = np.inf
    for _ in range(3):
        begin = perf_counter()
        intersect(a, b, 1e-9)
        best = min(best, perf_counter() - begin)
    assert best < 1.0
