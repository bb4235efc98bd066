"""Measures of single segments agree with points found independently, for lines, arcs and arcs nearly flat."""

import numpy as np
import pytest
from curves import SETTINGS, backwards, moves, on_circle, sampled, tables
from hypothesis import given

from convert.geometry.chain import Segments
from convert.geometry.measure import (
    area_terms,
    boxes,
    centre,
    end_tangent,
    lengths,
    midpoint,
    point_at,
    radius,
    start_tangent,
    sweep,
)

FINE = np.linspace(0.0, 1.0, 2001)


@SETTINGS
@given(tables())
def test_points_lie_where_turning_about_the_centre_puts_them(s):
    """Points at fractions are those of the turned radius, to 1e-10 mm, and exactly the ends at 0 and 1."""
    t = np.linspace(0.0, 1.0, 17)
    got = point_at(s, np.broadcast_to(t, (len(s), 17)))
    # Extended precision has about 1e-19 of a radius of 2e10 mm for the flattest arcs.
    assert np.abs(got - sampled(s, t)).max() < 2e-8
    thick = np.abs(s.bulge) > 1e-6
    assert not thick.any() or np.abs(got - sampled(s, t))[thick].max() < 1e-10
    assert (got[:, 0] == s.start).all()
    assert (got[:, -1] == s.end).all()


@SETTINGS
@given(tables())
def test_lengths_are_those_of_many_small_chords(s):
    """Length agrees with k inscribed chords but for what they must lose: length sweep^2 / (24 k^2)."""
    inscribed = np.hypot(*np.moveaxis(np.diff(sampled(s, FINE), axis=1), 2, 0)).sum(axis=1)
    allowed = lengths(s) * sweep(s) ** 2 / (24 * 2000**2) * 1.01 + 1e-6 * (np.abs(s.bulge) < 1e-6) + 1e-9
    assert (np.abs(lengths(s) - inscribed) <= allowed).all()


@SETTINGS
@given(tables())
def test_boxes_are_tight(s):
    """No point of a segment is outside its box, and every side is touched."""
    box, at = boxes(s), sampled(s, FINE)
    slack = 1e-9 + 2e-8 * (np.abs(s.bulge) < 1e-6)[:, None]
    # Between samples an arc rises by at most the sagitta of one step.
    sag = (lengths(s) * np.abs(sweep(s)) / 2000**2)[:, None] + slack
    assert (box[:, :2] <= at.min(axis=1) + slack).all()
    assert (box[:, 2:] >= at.max(axis=1) - slack).all()
    assert (at.min(axis=1) - box[:, :2] <= sag).all()
    assert (box[:, 2:] - at.max(axis=1) <= sag).all()


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_box_of_a_half_circle_on_the_axes(turn):
    """A half circle whose ends have upright tangents gets the box of the half disc in every quarter turn."""
    way = 1j**turn
    p, q = -way, way
    s = Segments([[p.real, p.imag]], [[q.real, q.imag]], [1.0])
    top = -1j * way
    x, y = sorted((p.real, q.real, top.real)), sorted((p.imag, q.imag, top.imag))
    assert boxes(s)[0] == pytest.approx([x[0], y[0], x[-1], y[-1]], abs=1e-15)


@SETTINGS
@given(tables())
def test_tangents_point_along(s):
    """Tangents are unit vectors along the first and last tiny step."""
    for t, tangent in (([0.0, 1e-5], start_tangent(s)), ([1 - 1e-5, 1.0], end_tangent(s))):
        step = np.diff(sampled(s, t), axis=1)[:, 0]
        step /= np.hypot(*step.T)[:, None]
        thick = (np.abs(s.bulge) > 1e-6) | (s.bulge == 0)
        assert np.abs(tangent - step)[thick].max(initial=0.0) < 4e-5
        assert np.hypot(*tangent.T) == pytest.approx(np.ones(len(s)), abs=1e-15)


@SETTINGS
@given(tables())
def test_centre_radius_and_middle_fit_together(s):
    """Ends and middle of an arc are a radius from its centre; a line has none."""
    arc = s.is_arc
    assert np.isnan(centre(s)[~arc]).all()
    assert np.isinf(radius(s)[~arc]).all()
    for at in (s.start, s.end, midpoint(s)):
        away = np.hypot(*(at - centre(s)).T)
        assert away[arc] == pytest.approx(radius(s)[arc], rel=1e-12)
    assert np.abs(midpoint(s) - point_at(s, 0.5)).max() < 1e-12


@SETTINGS
@given(tables(), moves)
def test_measures_follow_similarities(s, move):
    """Lengths grow by the scale, sweeps keep, points go along, under any turn, flip, scale and shift."""
    image = move.segments(s)
    # Two coordinates of 1e5 mm are each rounded to 1.5e-11 mm.
    assert lengths(image) == pytest.approx(lengths(s) * move.scale, rel=1e-9, abs=1e-9)
    assert sweep(image) == pytest.approx(sweep(s) * (-1 if move.flipped else 1))
    assert np.abs(midpoint(image) - move.points(midpoint(s))).max() < 1e-9


@SETTINGS
@given(tables())
def test_reversal(s):
    """Reversed segments have the same length, box and middle, opposite tangents and exactly opposite area."""
    other = backwards(s)
    assert (lengths(other) == lengths(s)).all()
    assert np.abs(boxes(other) - boxes(s)).max() < 1e-13
    assert np.abs(midpoint(other) - midpoint(s)).max() < 1e-13
    assert np.abs(start_tangent(other) + end_tangent(s)).max() < 1e-15
    assert (area_terms(other) == -area_terms(s)).all()


@pytest.mark.parametrize("bulge", [0.0, 1e-300, 1e-12, 1e-9, 1e-5, 0.03, 0.12, 0.13, 0.5, 1.0])
def test_area_between_arc_and_chord(bulge):
    """The circular segment's area is right to rounding for every bulge, where its formula changes too."""
    s = Segments([[0.0, 0.0], [100.0, 0.0]], [[100.0, 0.0], [0.0, 0.0]], [bulge, 0.0])
    t = np.linspace(0, 1, 20001)
    if bulge >= 0.03:
        xy = on_circle((0, 0), (100, 0), bulge, t)
        x, y = xy.T
        expected = -np.sum((y[1:] + y[:-1]) / 2 * np.diff(x))
        assert area_terms(s).sum() == pytest.approx(expected, rel=1e-8)
    else:
        # A flat arc is a parabola with the same sagitta but for terms in bulge^2: 2/3 of chord and sagitta.
        assert area_terms(s).sum() == pytest.approx(100 * 100 * bulge / 3, rel=1e-9 + bulge**2)


def test_area_series_meets_formula():
    """On both sides of the change from series to formula the area is the same."""
    edge = np.tan(0.5 / 4)
    bulge = np.array([edge * (1 - 1e-13), edge * (1 + 1e-13)])
    start, end = np.zeros((2, 2)), np.tile([1.0, 0.0], (2, 1))
    both = [area_terms(Segments(start[:1], end[:1], bulge[i : i + 1]))[0] for i in (0, 1)]
    assert both[1] / both[0] == pytest.approx(1, abs=1e-12)


def test_nothing_and_a_point():
    """An empty table has empty measures, and a segment without a chord has length 0 and no direction."""
    none = Segments(np.zeros((0, 2)), np.zeros((0, 2)), [])
    assert [len(f(none)) for f in (lengths, boxes, midpoint, sweep, area_terms, start_tangent)] == [0] * 6
    point = Segments([[3.0, 4.0]], [[3.0, 4.0]], [0.5])
    assert lengths(point)[0] == 0.0
    assert start_tangent(point)[0].tolist() == [0.0, 0.0]
    assert boxes(point)[0].tolist() == [3.0, 4.0, 3.0, 4.0]
    assert point_at(point, 0.3)[0].tolist() == [3.0, 4.0]
