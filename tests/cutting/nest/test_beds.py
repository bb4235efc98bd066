"""Beds hold what fits, no more and no less, and rectangles are filled without overlap."""

from math import floor

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import INCH, SHAPES, polygon

from convert.cutting.nest.accept import Judge
from convert.cutting.nest.beds import Patterns, Place, bed_of, fill, tops_of
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import kinds_of

LETTER, MAT = (8 * INCH, 10.5 * INCH), (292.1, 292.1)


def setup(gap, *items, room=MAT):
    """Return kinds and patterns of items."""
    kinds = kinds_of(items, Rotation())
    return kinds, Patterns(kinds, gap, room, 24, 12)


def judged(kinds, gap, spots, width, height):
    """Return the judgement of spots on a sheet."""
    judge = Judge([kind.drawn for kind in kinds], gap)
    return judge.judge([(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in spots], width, height)


@pytest.mark.parametrize(
    ("name", "room", "gap", "least"),
    [
        ("hexagon", LETTER, 0.0, 28), ("hexagon", MAT, 0.0, 42), ("hexagon", MAT, 1.0, 42),
        ("hexagon", LETTER, 1.0, 24), ("rhomb 60", LETTER, 0.0, 18), ("rhomb 60", MAT, 1.0, 30),
        ("triangle", MAT, 0.0, 60), ("triangle", LETTER, 0.0, 42), ("square", LETTER, 0.0, 35),
        ("square", LETTER, 1.0, 30), ("square", MAT, 1.0, 49),
    ],
)  # fmt: skip
def test_as_many_as_are_known_to_fit(name, room, gap, least):
    """At least the numbers that a hand-made lattice reached on these sheets; all inside and apart."""
    kinds, patterns = setup(gap, Item(SHAPES[name], 1), room=room)
    bed = patterns.bed(0, 10**6, *room)
    assert bed.count >= least
    assert bed.count == len(bed.spots())
    assert judged(kinds, gap, bed.spots(), *room).passed


@settings(deadline=None, max_examples=40)
@given(st.floats(10, 60), st.floats(10, 60), st.floats(0, 4), st.floats(80, 400), st.floats(80, 400))
def test_rectangles_in_rows(width, height, gap, across, up):
    """At least floor((W + gap) / (w + gap)) rectangles a row, floor((H + gap) / (h + gap)) rows."""
    item = Item(polygon([(0, 0), (width, 0), (width, height), (0, height)]), 1)
    kinds, patterns = setup(gap, item, room=(across, up))
    bed = patterns.bed(0, 10**6, across, up)
    tiny = 1e-9
    rows = floor((across + gap) / (width + gap) + tiny) * floor((up + gap) / (height + gap) + tiny)
    turned = floor((across + gap) / (height + gap) + tiny) * floor((up + gap) / (width + gap) + tiny)
    assert (bed.count if bed else 0) >= max(rows, turned)
    if bed:
        assert judged(kinds, gap, bed.spots(), across, up).passed


@pytest.mark.parametrize("wanted", [1, 2, 5, 11, 30])
def test_a_bed_holds_what_is_wanted_and_says_what_is_free(wanted):
    """A bed has just the copies wanted; no copy reaches into what it says is free, by the gap."""
    kinds, patterns = setup(2.0, Item(SHAPES["kite"], 1))
    bed = patterns.bed(0, wanted, *MAT)
    assert bed.count == len(bed.spots()) == wanted
    shapes = []
    for spot in bed.spots():
        z = kinds[0].corners * np.exp(1j * spot.angle) + spot.at
        shapes.append(shapely.Polygon(np.column_stack((z.real, z.imag))))
    for x, y, width, height in bed.free:
        assert x >= -1e-9
        assert y >= -1e-9
        assert x + width <= MAT[0] + 1e-9
        assert y + height <= MAT[1] + 1e-9
        room = shapely.box(x, y, x + width, y + height)
        assert min(shape.distance(room) for shape in shapes) >= 2.0 - 1e-6


def test_rows_end_where_they_are_said_to():
    """With a height at which a row ends, a bed holds more than with a hair less."""
    _, patterns = setup(0.0, Item(SHAPES["hexagon"], 1))
    pattern = patterns.of(0, 0, few=False)[0]
    tops = tops_of(pattern, 250.0)
    assert tops == sorted(tops)
    for top in tops[1:]:
        lower = bed_of(pattern, 250.0, top - 0.01, 999, 0.0)
        assert bed_of(pattern, 250.0, top, 999, 0.0).count > lower.count


def test_two_patterns_together_hold_more():
    """Strips that fill a sheet but for one row are laid the other way in what is left."""
    item = Item(polygon([(0, 0), (50, 0), (50, 20), (0, 20)]), 1)
    kinds, patterns = setup(0.0, item, room=(100.0, 111.0))
    spots, left, *_ = fill(patterns, [(0, 11)], [Place(0, 0.0, 0.0, 100.0, 111.0)])
    assert sum(left) <= 1
    assert judged(kinds, 0.0, spots[0], 100.0, 111.0).passed


@settings(deadline=None, max_examples=15)
@given(st.lists(st.tuples(st.sampled_from(sorted(SHAPES)), st.integers(1, 12)), min_size=1, max_size=4),
       st.sampled_from([0.0, 1.0, 3.0]))  # fmt: skip
def test_whatever_is_filled_in_passes_judgement(wanted, gap):
    """Several kinds over two sheets: counts add up, and both sheets pass with true curves."""
    kinds, patterns = setup(gap, *(Item(SHAPES[name], 1) for name, _ in wanted))
    places = [Place(0, 0.0, 0.0, *MAT), Place(1, 0.0, 0.0, *MAT)]
    needs = [(number, count) for number, (_, count) in enumerate(wanted)]
    spots, left, *_ = fill(patterns, needs, places, whole=False)
    assert sum(map(len, spots)) + sum(left) == sum(count for _, count in wanted)
    assert not any(left)
    for on_sheet in spots:
        assert judged(kinds, gap, on_sheet, *MAT).passed
