"""Curves become arcs and lines that lie within the tolerance, are smooth, few and fair to symmetry."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry.fit import fit_cubics, fit_ellipse_arcs, fit_quadratics

TOLERANCE = 0.005
SETTINGS = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
coordinate = st.floats(0, 100, allow_nan=False).map(lambda v: round(v, 3))
controls = st.lists(st.tuples(coordinate, coordinate), min_size=4, max_size=4).map(np.array)


def cubic(control, t):
    """Points of one cubic by de Casteljau's construction."""
    p = [np.outer(1 - t, a) + np.outer(t, b) for a, b in pairwise(control)]
    while len(p) > 1:
        p = [(1 - t)[:, None] * a + t[:, None] * b for a, b in pairwise(p)]
    return p[0]


def arc_points(start, end, bulge, count):
    """Points of one segment, ends included: turn the chord's normal about the centre."""
    t = np.linspace(0, 1, count)[:, None]
    if bulge == 0:
        return start + t * (end - start)
    chord = end - start
    centre = (start + end) / 2 + np.array([-chord[1], chord[0]]) * (1 - bulge**2) / (4 * bulge)
    angle = 4 * np.arctan(bulge) * t[:, 0]
    r = start - centre
    return centre + np.stack(
        (r[0] * np.cos(angle) - r[1] * np.sin(angle), r[0] * np.sin(angle) + r[1] * np.cos(angle)), axis=1
    )


def distance_to_segment(points, start, end, bulge):
    """Distance of points from one line or arc, by centre, radius and sector."""
    if bulge == 0:
        way = end - start
        t = np.clip((points - start) @ way / max(way @ way, 1e-300), 0, 1)
        return np.linalg.norm(points - start - t[:, None] * way, axis=1)
    chord = end - start
    centre = (start + end) / 2 + np.array([-chord[1], chord[0]]) * (1 - bulge**2) / (4 * bulge)
    radius = np.linalg.norm(start - centre)
    middle = (start + end) / 2 - bulge / 2 * np.array([-chord[1], chord[0]])
    away = points - centre
    size = np.linalg.norm(away, axis=1)
    axis = (middle - centre) / radius
    off_axis = np.arctan2(np.abs(axis[0] * away[:, 1] - axis[1] * away[:, 0]), away @ axis)
    inside = off_axis <= 2 * np.arctan(abs(bulge))
    nearest_end = np.minimum(np.linalg.norm(points - start, axis=1), np.linalg.norm(points - end, axis=1))
    return np.where(inside, np.abs(size - radius), nearest_end)


def rows(fitted, curve=0):
    """Return the segments of one curve as plain tuples."""
    s, keep = fitted.segments, fitted.curve == curve
    return list(zip(s.start[keep], s.end[keep], s.bulge[keep], strict=True))


def both_ways(curve_points, segments):
    """Largest distance from curve to segments, and from segments to the (densely sampled) curve."""
    from shapely import LineString, points

    there = np.min([distance_to_segment(curve_points, *s) for s in segments], axis=0).max()
    line = LineString(curve_points)
    back = max(line.distance(points(arc_points(*s, 40))).max() for s in segments)
    return there, back


def check(curve_points, fitted, curve=0, step_error=2e-4):
    """Assert ends, connection, distance both ways and the half circle limit for one fitted curve."""
    segments = rows(fitted, curve)
    assert np.array_equal(segments[0][0], curve_points[0])
    assert np.array_equal(segments[-1][1], curve_points[-1])
    for before, after in pairwise(segments):
        assert np.array_equal(before[1], after[0])
    there, back = both_ways(curve_points, segments)
    assert there <= fitted.error[curve] + 1e-9
    assert back <= fitted.error[curve] + step_error
    assert fitted.error[curve] <= TOLERANCE * (1 + 1e-9)
    assert max(abs(s[2]) for s in segments) <= 1


def kinks(segments):
    """Angles between the end of each segment and the start of the next."""
    chord = np.array([s[1] - s[0] for s in segments])
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    half = 2 * np.arctan([s[2] for s in segments])
    turn = (angle[1:] - half[1:]) - (angle[:-1] + half[:-1])
    return np.abs((turn + np.pi) % (2 * np.pi) - np.pi)


def bundle(rng, count):
    """Typical edges of drawn pieces, 100 mm long: petal sides and S-curves."""
    x, y = rng.uniform(15, 45, (count, 2)), rng.uniform(5, 40, (count, 2))
    out = np.zeros((count, 4, 2))
    out[:, 1, 0], out[:, 2, 0], out[:, 3, 0] = x[:, 0], 100 - x[:, 1], 100
    out[:, 1, 1], out[:, 2, 1] = y[:, 0], y[:, 1] * np.where(np.arange(count) % 2, 1, -1)
    return out


@SETTINGS
@given(controls)
def test_any_cubic_is_within_tolerance_both_ways(control):
    """Whatever the control points, cusps and loops included, no point is farther off than reported."""
    fitted = fit_cubics(control[None], TOLERANCE)
    if len(fitted.segments) == 0:
        assert np.ptp(control, axis=0).max() <= TOLERANCE
        return
    check(cubic(control, np.linspace(0, 1, 4001)), fitted, step_error=1e-3)


@SETTINGS
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=4, max_size=4).map(np.array))
def test_cubics_on_a_tiny_grid(control):
    """Coincident handles, closed loops, exact cusps and lines to and fro are fitted like any other."""
    fitted = fit_cubics(control[None], TOLERANCE)
    points = cubic(control.astype(float), np.linspace(0, 1, 4001))
    if (control == control[0]).all():
        assert len(fitted.segments) == 0
    else:
        check(points, fitted)


def test_many_cubics_at_once():
    """A thousand cubics in one call are each within the tolerance and stay apart."""
    control = np.random.default_rng(7).uniform(0, 100, (1000, 4, 2))
    fitted = fit_cubics(control, TOLERANCE)
    assert (np.diff(fitted.curve) >= 0).all()
    assert np.array_equal(np.unique(fitted.curve), np.arange(1000))
    t = np.linspace(0, 1, 1501)
    for i in range(0, 1000, 25):
        check(cubic(control[i], t), fitted, i, step_error=1e-3)


def test_a_curve_whose_middle_turns_nothing():
    """A flat symmetrical arch, of which sliding the middle vertex doesn't turn the arcs' end, is fitted."""
    control = np.array([
        [55.97693486666667, -153.60989936666667], [74.43273008888889, -161.44091339444444],
        [95.56376902222222, -161.44091339444444], [114.01956424444444, -153.60989936666667],
    ])  # fmt: skip
    fitted = fit_cubics(control[None], 0.0025634930244444443)
    assert len(fitted.segments) <= 4
    assert fitted.error.max() <= 0.0025634930244444443


def test_smooth_curves_stay_smooth():
    """Arcs of a curve without spikes meet tangentially, and leave and arrive as the handles say."""
    control = bundle(np.random.default_rng(3), 100)
    fitted = fit_cubics(control, TOLERANCE)
    for i in range(100):
        segments = rows(fitted, i)
        assert kinks(segments).max(initial=0) < 1e-8
        for segment, handle, sign in (
            (segments[0], control[i, 1] - control[i, 0], -1),
            (segments[-1], control[i, 3] - control[i, 2], 1),
        ):
            chord = segment[1] - segment[0]
            angle = np.arctan2(chord[1], chord[0]) + sign * 2 * np.arctan(segment[2])
            kink = (angle - np.arctan2(handle[1], handle[0]) + np.pi) % (2 * np.pi) - np.pi
            assert abs(kink) < (1e-8 if len(segments) > 1 else 2e-3)


def test_vertices_lie_on_the_curve():
    """Every vertex between arcs is a point of the curve."""
    control = bundle(np.random.default_rng(4), 20)
    fitted = fit_cubics(control, TOLERANCE)
    for i in range(20):
        points = cubic(control[i], np.linspace(0, 1, 20001))
        for segment in rows(fitted, i)[:-1]:
            assert np.linalg.norm(points - segment[1], axis=1).min() < 6e-3
            near = points[np.argsort(np.linalg.norm(points - segment[1], axis=1))[:2]]
            assert distance_to_segment(segment[1][None], near[0], near[1], 0.0)[0] < 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_reversed_and_mirrored_curves_give_reversed_and_mirrored_arcs(seed):
    """Direction and handedness of a drawing don't change where its vertices come to lie."""
    control = np.concatenate(
        (np.random.default_rng(seed).uniform(0, 60, (60, 4, 2)), bundle(np.random.default_rng(seed), 40))
    )
    fitted = fit_cubics(control, TOLERANCE)
    back = fit_cubics(control[:, ::-1], TOLERANCE)
    mirrored = fit_cubics(control * [-1, 1], TOLERANCE)
    for i in range(len(control)):
        here = rows(fitted, i)
        assert len(rows(back, i)) == len(here) == len(rows(mirrored, i))
        for a, b, c in zip(here, rows(back, i)[::-1], rows(mirrored, i), strict=True):
            assert np.allclose(a[0], b[1], atol=1e-6)
            assert np.isclose(a[2], -b[2], atol=1e-6)
            assert np.allclose(a[0] * [-1, 1], c[0], atol=1e-6)
            assert np.isclose(a[2], -c[2], atol=1e-6)


def test_turned_moved_and_scaled_curves_give_the_same_arcs():
    """A similarity of the drawing, tolerance scaled along, is a similarity of the arcs."""
    control = bundle(np.random.default_rng(5), 60)
    fitted = fit_cubics(control, TOLERANCE)
    c, s, scale = np.cos(0.7), np.sin(0.7), 3.7
    turn = scale * np.array([[c, s], [-s, c]])
    moved = fit_cubics(control @ turn + [200, -50], TOLERANCE * scale)
    assert np.array_equal(moved.curve, fitted.curve)
    assert np.allclose(moved.segments.start, fitted.segments.start @ turn + [200, -50], atol=1e-5)
    assert np.allclose(moved.segments.bulge, fitted.segments.bulge, atol=1e-6)
    assert np.allclose(moved.error, fitted.error * scale, rtol=1e-3)


def test_a_symmetric_curve_has_symmetric_arcs():
    """A petal side that is its own mirror image is fitted so."""
    fitted = fit_cubics([[(0, 0), (30, 25), (70, 25), (100, 0)]], TOLERANCE)
    assert np.allclose(fitted.segments.start[1:, 0], 100 - fitted.segments.start[1:, 0][::-1], atol=1e-9)
    assert np.allclose(fitted.segments.bulge, fitted.segments.bulge[::-1], atol=1e-9)


@pytest.mark.parametrize(
    ("control", "stops"),
    [
        ([(0, 0), (1, 1), (2, 2), (3, 3)], [0, 3]),
        ([(0, 0), (0, 0), (3, 3), (3, 3)], [0, 3]),
        ([(0, 0), (4, 4), (-1, -1), (3, 3)], [0, 5 / 3, 4 / 3, 3]),
        ([(0, 0), (4, 4), (4, 4), (0, 0)], [0, 3, 0]),
        ([(0, 0), (1, 1), (2, 2), (0, 0)], [0, 2 / 3**0.5, 0]),
        ([(0, 0), (-1e-5, 0), (2, 2), (3, 3)], [0, 3]),
    ],
)
def test_straight_cubics_are_lines(control, stops):
    """A straight cubic is one line, or lines to where it turns round; a handle's rounding changes nothing."""
    fitted = fit_cubics([control], TOLERANCE)
    assert (fitted.segments.bulge == 0).all()
    assert np.allclose([*fitted.segments.start[:, 0], fitted.segments.end[-1, 0]], stops, atol=1e-4)


def test_a_curve_without_length_has_no_segments():
    """All control points in one place: nothing to cut."""
    fitted = fit_cubics([[(1, 1)] * 4, [(0, 0), (1, 0), (2, 0), (3, 0)]], TOLERANCE)
    assert fitted.curve.tolist() == [1]
    assert len(fit_cubics(np.zeros((0, 4, 2)), TOLERANCE).segments) == 0


def test_drawn_quarter_circle_is_one_arc():
    """The usual quarter circle by a cubic, handles rounded, is one arc while that is true enough."""
    k = 0.5523
    fitted = fit_cubics(np.array([[(1, 0), (1, k), (k, 1), (0, 1)]]) * 15, TOLERANCE)
    assert len(fitted.segments) == 1
    assert fitted.segments.bulge[0] == pytest.approx(np.tan(np.pi / 8), abs=1e-3)
    big = fit_cubics(np.array([[(1, 0), (1, k), (k, 1), (0, 1)]]) * 150, TOLERANCE)
    assert len(big.segments) > 1


def test_quadratics_are_fitted_as_their_cubics():
    """A parabola's arcs stay within the tolerance, and are symmetric like it."""
    control = np.array([[0.0, 0], [50, 80], [100, 0]])
    fitted = fit_quadratics([control], TOLERANCE)
    t = np.linspace(0, 1, 4001)[:, None]
    points = (1 - t) ** 2 * control[0] + 2 * t * (1 - t) * control[1] + t**2 * control[2]
    check(points, fitted)
    assert np.allclose(fitted.segments.bulge, fitted.segments.bulge[::-1], atol=1e-9)


@SETTINGS
@given(
    st.lists(st.floats(-60, 60), min_size=4, max_size=4),
    st.floats(0, 6.2),
    st.floats(-2 * np.pi, 2 * np.pi),
)
def test_parts_of_any_ellipse(axes, start, sweep):
    """An affine image of a circle is fitted within the tolerance, whatever its skew and sense."""
    u, v = np.array(axes[:2]), np.array(axes[2:])
    fitted = fit_ellipse_arcs([(5, 7)], [[u, v]], [start], [sweep], TOLERANCE)
    angle = start + sweep * np.linspace(0, 1, 6001)
    points = np.array([5, 7]) + np.outer(np.cos(angle), u) + np.outer(np.sin(angle), v)
    if len(fitted.segments) == 0:
        assert np.ptp(points, axis=0).max() <= TOLERANCE
        return
    segments = rows(fitted)
    assert np.allclose(segments[0][0], points[0], atol=1e-12)
    assert np.allclose(segments[-1][1], points[-1], atol=1e-12)
    there, back = both_ways(points, segments)
    # The test's own centre of a very short arc is only good to this.
    assert there <= fitted.error[0] + 1e-8
    assert back <= fitted.error[0] + 1e-3
    assert fitted.error[0] <= TOLERANCE * (1 + 1e-9)


@pytest.mark.parametrize("sweep", [2 * np.pi, -2 * np.pi, np.pi, -1.0, 4.0])
@pytest.mark.parametrize("sense", [1, -1])
def test_circles_are_exact(sweep, sense):
    """A circle, or part of one, turned and perhaps flipped, is at most two arcs without error."""
    turn = np.array([[np.cos(1), np.sin(1)], [-np.sin(1), np.cos(1)]]) * 40
    turn[1] *= sense
    fitted = fit_ellipse_arcs([(1, 2)], [turn], [0.3], [sweep], TOLERANCE)
    assert len(fitted.segments) == (1 if abs(sweep) <= np.pi else 2)
    assert fitted.error[0] < 1e-12
    for segment in rows(fitted):
        assert np.sign(segment[2]) == np.sign(sweep) * sense
        assert np.allclose(np.linalg.norm(arc_points(*segment, 30) - [1, 2], axis=1), 40, atol=1e-12)


def test_a_full_ellipse_closes_and_has_four_equal_quarters():
    """Its arcs mirror in both axes, and only its start is at an axis end."""
    fitted = fit_ellipse_arcs([(0, 0)], [[(60, 0), (0, 30)]], [0.0], [2 * np.pi], TOLERANCE)
    assert np.array_equal(fitted.segments.start[0], fitted.segments.end[-1])
    inner = fitted.segments.start[1:]
    quarter = np.sort(np.abs(inner[(inner[:, 0] < 0) & (inner[:, 1] > 0)]), axis=0)
    other = np.sort(np.abs(inner[(inner[:, 0] < 0) & (inner[:, 1] < 0)]), axis=0)
    assert np.allclose(quarter, other, atol=1e-9)
    assert np.abs(inner).min() > 0.1
    assert kinks(rows(fitted)).max() < 1e-8


def test_flat_ellipses_are_lines():
    """An ellipse squashed to nothing is lines to and fro between its farthest points."""
    fitted = fit_ellipse_arcs([(0, 0)], [[(3, 0), (4, 0)]], [0.0], [2 * np.pi], TOLERANCE)
    assert (fitted.segments.bulge == 0).all()
    assert np.allclose([*fitted.segments.start[:, 0], fitted.segments.end[-1, 0]], [3, 5, -5, 3])
    assert len(fit_ellipse_arcs([(0, 0)], [[(0, 0), (0, 0)]], [0.0], [1.0], TOLERANCE).segments) == 0


def test_a_fifth_of_the_nodes_of_flattening():
    """Petal sides, S-curves and ellipses of a 300 mm block need at most a fifth of the nodes of chords."""
    control = bundle(np.random.default_rng(11), 200)
    arcs = len(fit_cubics(control, TOLERANCE).segments)
    axes = np.array([[(60, 0), (0, 30)], [(75, 0), (0, 25)], [(30, 10), (-8, 20)]], dtype=float)
    sweep = np.full(3, 2 * np.pi)
    arcs += len(fit_ellipse_arcs(np.zeros((3, 2)), axes, np.zeros(3), sweep, TOLERANCE).segments)
    angle = np.linspace(0, 2 * np.pi, 5001)
    curves = [cubic(c, np.linspace(0, 1, 2001)) for c in control]
    curves += [np.outer(np.cos(angle), a[0]) + np.outer(np.sin(angle), a[1]) for a in axes]
    assert arcs * 5 <= sum(fewest_chords(points, TOLERANCE) for points in curves)


def fewest_chords(points, tolerance):
    """Chords with ends on a dense polyline, each as long as the tolerance allows (greedy is least here)."""
    count, at = 0, 0
    while at < len(points) - 1:
        low, high = at + 1, len(points) - 1
        while low < high:
            middle = (low + high + 1) // 2
            inside = points[at : middle + 1]
            if distance_to_segment(inside, points[at], points[middle], 0.0).max() <= tolerance:
                low = middle
            else:
                high = middle - 1
        at, count = low, count + 1
    return count


@pytest.mark.parametrize(
    "call",
    [
        lambda: fit_cubics([[(0, 0), (1, np.nan), (2, 2), (3, 3)]], TOLERANCE),
        lambda: fit_cubics([[(0, 0), (1, 1), (2, 2), (3, 3)]], 0.0),
        lambda: fit_cubics([[(0, 0), (1, 1), (2e12, 2), (3, 3)]], TOLERANCE),
        lambda: fit_quadratics([[(0, 0), (np.inf, 1), (2, 2)]], TOLERANCE),
        lambda: fit_ellipse_arcs([(0, 0)], [[(1, 0), (0, 1)]], [0.0], [7.0], TOLERANCE),
        lambda: fit_ellipse_arcs([(0, 0)], [[(1, 0), (0, 1)]], [np.nan], [1.0], TOLERANCE),
    ],
)
def test_impossible_input_is_refused(call):
    """Numbers that can't be fitted are an error, never a shape."""
    with pytest.raises(GeometryError):
        call()
