"""Cut order: drawn before cut, inner before outer, starts where the tool wants, nothing lost."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.cutting.order import CutOrder, in_cutting_order
from convert.cutting.sheet import Arrangement, Facing, Purpose, Sheet, Stroke
from convert.geometry.chain import Chain
from convert.profile import StartAt


def square(x, y, side=20.0):
    """Return a square with its corner at (x, y)."""
    return Chain(np.array([(x, y), (x + side, y), (x + side, y + side), (x, y + side)]), np.zeros(4))


def circle(x, y, r):
    """Return a circle as two half circles."""
    return Chain(np.array([(x - r, y), (x + r, y)]), np.ones(2))


def sheet(*strokes):
    """Return a sheet that holds just these strokes."""
    return Sheet(
        "pieces-1", "", 300.0, 300.0, Arrangement.PIECES, Facing.BACK, 1, 1, 1, (), tuple(strokes), ()
    )


def windowed(x, y, copy):
    """Return a square with a round window and a mark, in no good order."""
    tick = Chain(np.array([(x + 1.0, y + 1.0), (x + 2.0, y + 1.0)]), np.zeros(1), closed=False)
    return (
        Stroke(square(x, y), Purpose.OUTER, copy),
        Stroke(tick, Purpose.MARK, copy),
        Stroke(circle(x + 10, y + 10, 5), Purpose.INNER, copy),
    )


PLACE = st.tuples(st.integers(0, 9), st.integers(0, 9))
EDGE = CutOrder(StartAt.EDGE, far_side_first=False, home=(0.0, 0.0))
CORNER = CutOrder(StartAt.CORNER, far_side_first=False, home=(0.0, 0.0))


@settings(deadline=None, max_examples=30)
@given(st.lists(PLACE, min_size=1, max_size=20, unique=True), st.booleans())
def test_marks_come_first_and_windows_before_their_outlines(places, far_first):
    """Whatever lies on the sheet: marks precede cuts, and an inner cut its own piece's outer one."""
    strokes = [s for k, (x, y) in enumerate(places) for s in windowed(30.0 * x, 30.0 * y, k)]

    done, work = in_cutting_order(sheet(*strokes), CutOrder(StartAt.EDGE, far_first, (0.0, 0.0)))

    purposes = [s.purpose for s in done.strokes]
    first_cut = min(i for i, p in enumerate(purposes) if p is not Purpose.MARK)
    assert all(p is not Purpose.MARK for p in purposes[first_cut:])
    for k in range(len(places)):
        own = [(i, s) for i, s in enumerate(done.strokes) if s.copy == k]
        mine = [(i, s.purpose) for i, s in own if s.purpose is not Purpose.MARK]
        assert [p for _, p in mine] == [Purpose.INNER, Purpose.OUTER]
        assert mine[1][0] == mine[0][0] + 1
    assert work.pierces == 2 * len(places)
    assert work.cut_length == pytest.approx(len(places) * (80.0 + 10.0 * math.pi))
    assert work.draw_length == pytest.approx(float(len(places)))


def test_a_blade_starts_in_the_middle_of_a_straight_edge():
    """The first point of a closed cut is the middle of its longest line, and the outline is the same."""
    shape = Chain(np.array([(0, 0), (40, 0), (40, 10), (0, 10.0)]), np.array([0, 0, 0.2, 0]))

    done, _ = in_cutting_order(sheet(Stroke(shape, Purpose.OUTER, 0)), EDGE)

    chain = done.strokes[0].chain
    assert chain.points[0].tolist() == [20.0, 0.0]
    assert len(chain) == 5
    assert {tuple(p) for p in shape.points.tolist()} < {tuple(p) for p in chain.points.tolist()}


def test_a_beam_starts_at_the_sharpest_corner():
    """A drop with one point starts at the point, where a pierce mark does no harm."""
    drop = Chain(np.array([(10, 0), (0, 5), (0, -5.0)]), np.array([0.0, 1.0, 0.0]))

    done, _ = in_cutting_order(sheet(Stroke(drop, Purpose.OUTER, 0)), CORNER)

    assert done.strokes[0].chain.points[0].tolist() == [10.0, 0.0]


def test_a_circle_without_corner_or_edge_still_has_a_start():
    """Nothing straight, nothing sharp: the cut begins somewhere and stays a closed circle."""
    for order in (EDGE, CORNER):
        done, work = in_cutting_order(sheet(Stroke(circle(50, 50, 10), Purpose.OUTER, 0)), order)

        assert done.strokes[0].chain.closed
        assert work.cut_length == pytest.approx(20 * math.pi)


def test_the_far_side_goes_first_when_the_profile_asks():
    """Three rows of squares: the row farthest from the front edge is cut first, then the next."""
    strokes = [
        Stroke(square(30.0 * x, 30.0 * y), Purpose.OUTER, 5 * y + x) for y in range(3) for x in range(5)
    ]

    done, _ = in_cutting_order(sheet(*strokes), CutOrder(StartAt.CORNER, True, (0.0, 0.0)))

    rows = [s.copy // 5 for s in done.strokes]
    assert rows == sorted(rows, reverse=True)


def test_travel_is_what_walking_the_strokes_needs():
    """The stated travel is the sum of the lifted moves, counted by hand from the sheet's strokes."""
    strokes = [s for k in range(6) for s in windowed(40.0 * k, 0.0, k)]

    done, work = in_cutting_order(sheet(*strokes), CORNER)

    here, total = np.zeros(2), 0.0
    for stroke in done.strokes:
        points = stroke.chain.points
        total += float(np.hypot(*(points[0] - here)))
        here = points[0] if stroke.chain.closed else points[-1]
    assert work.travel == pytest.approx(total)


def test_what_no_tool_touches_stays_last_and_as_it_was():
    """Check squares are not turned, moved or counted."""
    check = Stroke(square(200, 200), Purpose.CHECK)

    done, work = in_cutting_order(sheet(check, Stroke(square(0, 0), Purpose.OUTER, 0)), EDGE)

    assert done.strokes[-1] is check
    assert work.cut_length == pytest.approx(80.0)
