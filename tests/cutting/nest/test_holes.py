"""Holes: a copy more where there is room, none where there is not, and never too near."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import SHAPES, flat, polygon

from convert.cutting.nest.accept import Judge
from convert.cutting.nest.beds import Spot
from convert.cutting.nest.holes import Holes
from convert.cutting.nest.model import Item, Rotation, Usable
from convert.cutting.nest.shapes import kinds_of

SQUARE = polygon([(0, 0), (30, 0), (30, 30), (0, 30)])


def passes(kinds, spots, gap, sheet):
    """Judge a layout by its true curves."""
    judge = Judge([kind.drawn for kind in kinds], gap)
    copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in spots]
    return judge.judge(copies, sheet.width, sheet.height).passed


def board(gap, left_out):
    """Return squares in rows of four, but for those left out."""
    pitch = 30.0 + gap
    every = [complex(i, j) * pitch for j in range(4) for i in range(4)]
    return [Spot(0, 0.0, at) for n, at in enumerate(every) if n not in left_out]


@pytest.mark.parametrize("left_out", [(0,), (5,), (15,), (3, 6, 9)])
def test_what_was_taken_out_goes_back(left_out):
    """A board of squares with a little to spare takes back what was taken out, and no more."""
    kinds, sheet = kinds_of([Item(SQUARE, 1)], Rotation()), Usable(129.1, 129.1)
    holes = Holes(kinds, sheet, 3.0, 8)
    spots = board(3.0, left_out)
    spots = [s._replace(at=s.at * (99.05 / 99.0)) for s in spots]
    found = holes.filled(spots, [len(left_out)])
    assert found is not None
    assert found[: len(spots)] == tuple(spots)
    assert len(found) == 16
    assert passes(kinds, found, 3.0, sheet)
    assert holes.filled(spots, [len(left_out) + 1]) is None


def test_a_bay_is_room():
    """A small square finds room in the corner of an L, which its box covers."""
    items = [Item(SHAPES["corner"], 1), Item(polygon([(0, 0), (20, 0), (20, 20), (0, 20)]), 1)]
    kinds, sheet = kinds_of(items, Rotation()), Usable(40.0, 40.0)
    found = Holes(kinds, sheet, 2.0, 8).filled([Spot(0, 0.0, 0j)], [0, 1])
    assert found is not None
    assert passes(kinds, found, 2.0, sheet)
    assert Holes(kinds, sheet, 5.2, 8).filled([Spot(0, 0.0, 0j)], [0, 1]) is None


def test_a_grain_is_kept():
    """A shape that may be turned by half turns only does not lie across, even where it would fit."""
    tall = polygon([(0, 0), (20, 0), (20, 60), (0, 60)])
    wide = Usable(70.0, 30.0)
    free, bound = kinds_of([Item(tall, 1)], Rotation()), kinds_of([Item(tall, 1)], Rotation(np.pi))
    assert Holes(free, wide, 1.0, 8).filled([], [1]) is not None
    assert Holes(bound, wide, 1.0, 8).filled([], [1]) is None


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(("lens", "bean", "kite", "corner", "hexagon")),
            st.floats(0, 6.28),
            st.floats(0, 1),
            st.floats(0, 1),
        ),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(("lens", "bean", "corner", "triangle")),
    st.floats(0.0, 6.0),
)
def test_copies_added_keep_the_gap(laid, more, gap):
    """Whatever lies there, what is added is on the sheet and keeps the gap from everything."""
    names = ["lens", "bean", "kite", "corner", "hexagon", "triangle"]
    kinds, sheet = kinds_of([Item(SHAPES[name], 1) for name in names], Rotation()), Usable(220.0, 180.0)
    spots = []
    for name, angle, right, up in laid:
        z = kinds[names.index(name)].corners * np.exp(1j * angle)
        at = complex(
            right * (220.0 - np.ptp(z.real)) - z.real.min(), up * (180.0 - np.ptp(z.imag)) - z.imag.min()
        )
        spots.append(Spot(names.index(name), angle, at))
    found = Holes(kinds, sheet, gap, 6).filled(spots, [2 * (name == more) for name in names])
    assert found is not None, "so large a sheet has room"
    areas = [flat(SHAPES[names[s.kind]], kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in found]
    for one in range(len(spots), len(found)):
        assert shapely.box(-1e-4, -1e-4, 220.0001, 180.0001).contains(areas[one])
        others = [area for number, area in enumerate(areas) if number != one]
        assert min(map(areas[one].distance, others)) >= gap - 2e-4
        assert all(areas[one].intersection(area).area < 0.01 for area in others)
