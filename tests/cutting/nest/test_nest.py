"""Layouts: the promised numbers, seen by shapely; the same twice; several sheets; what can't be laid."""

import subprocess
import sys
from cmath import rect
from math import pi

import pytest
from nest_shapes import INCH, SHAPES, check_layout, flat, polygon, rosette

from convert.cutting.nest import Effort, Item, Rotation, Usable, nest
from convert.cutting.nest.bounds import area_bound, grown_area
from convert.cutting.nest.shapes import kinds_of
from convert.errors import GeometryError, OutputError
from convert.geometry.similarity import Similarity

LETTER, MAT = Usable(8 * INCH, 10.5 * INCH), Usable(292.1, 292.1)
ANY = Rotation()


@pytest.mark.parametrize(("sheet", "blocks"), [(LETTER, 4), (MAT, 6)])
def test_seven_hexagons(sheet, blocks):
    """Seven 1 in hexagons: 4 blocks on Letter in 1/4 in margins (the area bound), 6 on a 12 in mat."""
    items, drawn = rosette()
    layout = nest(items, sheet, 0.0, ANY, effort=Effort.QUICK, drawn=drawn)
    assert layout.blocks_per_sheet == blocks == layout.blocks
    assert layout.sheets_per_block == 1
    check_layout(layout, items, sheet, 0.0, blocks)


def test_the_area_bound_counts_the_gap():
    """Squares of 38 mm, 2 mm apart, take 40 mm but for rounded corners, of a sheet as much larger."""
    kinds = kinds_of([Item(polygon([(0, 0), (38, 0), (38, 38), (0, 38)]), 1)], ANY)
    for gap, taken in ((0.0, 38**2), (2.0, 38**2 + 4 * 38 + pi)):
        grown = [grown_area(kind, gap) for kind in kinds]
        assert grown == pytest.approx([taken])
        room = (398 + gap) * (198 + gap)
        assert area_bound(kinds, grown, Usable(398.0, 198.0), gap) == pytest.approx(room / taken)


@pytest.mark.parametrize("name", SHAPES)
def test_what_shapes_take_up(name):
    """Grown by half the gap, straight or curved, hollow or not, they are as large as shapely finds them."""
    (kind,) = kinds_of([Item(SHAPES[name], 1)], ANY)
    known = flat(SHAPES[name], Similarity()).buffer(1.5, quad_segs=64).area
    assert grown_area(kind, 3.0) == pytest.approx(known, rel=1e-4)


def mixed_items():
    """Return straight, curved and dented shapes, some on both hands."""
    return [
        Item(SHAPES["kite"], 4, 2), Item(SHAPES["lens"], 3), Item(SHAPES["bean"], 1, 1),
        Item(SHAPES["triangle"], 5), Item(SHAPES["corner"], 1),
    ]  # fmt: skip


@pytest.mark.parametrize("gap", [0.0, 3.0])
def test_mixed_shapes_on_one_sheet(gap):
    """Straight, curved and dented shapes on both hands: everything is there, inside and apart."""
    items = mixed_items()
    layout = nest(items, Usable(400.0, 500.0), gap, ANY, effort=Effort.QUICK)
    assert layout.blocks_per_sheet >= 4
    assert layout.blocks_per_sheet <= layout.area_bound
    check_layout(layout, items, Usable(400.0, 500.0), gap, layout.blocks)
    assert 0.5 < layout.density < 1.0


def test_same_call_same_layout():
    """Twice the same call, with the engine at work: the same placements to the last bit."""
    items = [Item(SHAPES["lens"], 6), Item(SHAPES["kite"], 6), Item(SHAPES["hexagon"], 1)]
    one, two = (nest(items, LETTER, 1.0, ANY, effort=Effort.QUICK, seed=3) for _ in range(2))
    assert one == two


def test_same_layout_on_a_busy_machine():
    """With other processes at work the layout is the same, also where a try of the engine fails."""
    items = [Item(SHAPES["bean"], 2), Item(SHAPES["kite"], 4), Item(SHAPES["jewel"], 3)]
    sheet = Usable(180.0, 190.0)
    alone = nest(items, sheet, 2.0, ANY, effort=Effort.QUICK)
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(4)]
    try:
        crowded = nest(items, sheet, 2.0, ANY, effort=Effort.QUICK)
    finally:
        for process in busy:
            process.kill()
            process.wait()
    assert alone == crowded
    assert not alone.notes
    assert alone.blocks_per_sheet < alone.area_bound


def test_more_effort_is_never_worse():
    """Normal effort finds what quick effort finds, or more: here the engine finds a third block of rhombs."""
    items = [Item(SHAPES["rhomb 60"], 6)]
    quick = nest(items, LETTER, 1.0, ANY, effort=Effort.QUICK)
    normal = nest(items, LETTER, 1.0, ANY, effort=Effort.NORMAL)
    assert quick.blocks_per_sheet <= normal.blocks_per_sheet == 3
    assert "engine" in normal.methods[0]
    check_layout(normal, items, LETTER, 1.0, 3)


def test_a_block_larger_than_a_sheet():
    """Nine squares of which four fit a sheet need three sheets; two blocks, mixed, need five, not six."""
    items = [Item(polygon([(0, 0), (50, 0), (50, 50), (0, 50)]), 9)]
    sheet = Usable(105.0, 105.0)
    one = nest(items, sheet, 1.0, ANY, effort=Effort.QUICK)
    assert (one.blocks_per_sheet, one.sheets_per_block, one.prints, one.blocks) == (0, 3, 3, 1)
    check_layout(one, items, sheet, 1.0, 1)
    two = nest(items, sheet, 1.0, ANY, blocks=2, effort=Effort.QUICK)
    assert (two.sheets_per_block, two.prints) == (3, 5)
    check_layout(two, items, sheet, 1.0, 2)


def test_blocks_are_mixed_over_sheets_where_that_saves_one():
    """Three squares a block, four to a sheet: one block a sheet, but four blocks on three sheets."""
    items = [Item(polygon([(0, 0), (50, 0), (50, 50), (0, 50)]), 3)]
    layout = nest(items, Usable(101.0, 101.0), 1.0, ANY, blocks=4, effort=Effort.QUICK)
    assert (layout.blocks_per_sheet, layout.prints) == (1, 3)
    check_layout(layout, items, Usable(101.0, 101.0), 1.0, 4)


def test_groups_of_blocks_are_made_several_times():
    """Four blocks of nine squares, four to a sheet, take no more sheets than two times two blocks do."""
    items = [Item(polygon([(0, 0), (50, 0), (50, 50), (0, 50)]), 9)]
    sheet = Usable(105.0, 105.0)
    layouts = {n: nest(items, sheet, 1.0, ANY, blocks=n, effort=Effort.QUICK) for n in (2, 4, 5)}
    assert [layout.prints for layout in layouts.values()] == [5, 9, 12]
    for number, layout in layouts.items():
        check_layout(layout, items, sheet, 1.0, number)


def test_a_number_of_blocks_that_leaves_part_of_a_sheet():
    """Ten blocks at four a sheet: two full sheets and one of two blocks."""
    items, drawn = rosette()
    layout = nest(items, LETTER, 0.0, ANY, blocks=10, effort=Effort.QUICK, drawn=drawn)
    assert [len(on_sheet) for on_sheet in layout.sheets] == [28, 28, 14]
    check_layout(layout, items, LETTER, 0.0, 10)


@pytest.mark.parametrize("step", [0.0, pi / 2, pi])
def test_turning_as_allowed(step):
    """Copies are only turned in the steps allowed, whatever method lays them."""
    items = [Item(SHAPES["kite"], 3), Item(SHAPES["quadrilateral"], 2, 1)]
    layout = nest(items, Usable(250.0, 250.0), 1.0, Rotation(step), effort=Effort.QUICK)
    check_layout(layout, items, Usable(250.0, 250.0), 1.0, layout.blocks)
    for placed in layout.sheets[0]:
        turn = complex(placed.placement.a, placed.placement.b)
        assert min(abs(turn - rect(1.0, angle)) for angle in Rotation(step).angles) < 1e-6


def test_a_strip_that_only_fits_slanted():
    """A strip longer than both sides of a sheet lies across it."""
    strip = polygon([(0, 0), (130, 0), (130, 5), (0, 5)])
    layout = nest([Item(strip, 1)], Usable(100.0, 100.0), 1.0, ANY, effort=Effort.QUICK)
    assert layout.blocks_per_sheet >= 1
    check_layout(layout, [Item(strip, 1)], Usable(100.0, 100.0), 1.0, layout.blocks)


FIXED = [
    Item(polygon([(-25, -25), (25, -25), (25, 25), (-25, 25)]), 1),
    Item(polygon([(0, 0), (150, 0), (150, 6), (0, 6)]), 1),
    Item(SHAPES["triangle"], 2),
]


@pytest.mark.parametrize(("made", "gap"), [("rosette", 0.0), ("mixed", 2.0)])
def test_fixtures_lie_on_every_sheet(made, gap):
    """A check square, a bar and two triangles lie upright on each sheet, apart from all shapes."""
    items, drawn = rosette() if made == "rosette" else (mixed_items(), [])
    layout = nest(items, LETTER, gap, ANY, effort=Effort.QUICK, drawn=drawn, fixed=FIXED)
    assert layout.blocks_per_sheet >= (2 if made == "rosette" else 1)
    check_layout(layout, items, LETTER, gap, layout.blocks, FIXED)
    kinds = kinds_of(items, ANY)
    assert layout.area_bound <= area_bound(kinds, [grown_area(kind, gap) for kind in kinds], LETTER, gap)


def test_fixtures_on_the_sheets_of_a_block_that_needs_several():
    """Nine squares on sheets of four need more sheets where a check square takes one's place."""
    square = polygon([(0, 0), (50, 0), (50, 50), (0, 50)])
    sheet, items, fixed = Usable(105.0, 105.0), [Item(square, 9)], [Item(square, 1)]
    layout = nest(items, sheet, 1.0, ANY, blocks=2, effort=Effort.QUICK, fixed=fixed)
    assert (layout.sheets_per_block, layout.prints) == (3, 6)
    check_layout(layout, items, sheet, 1.0, 2, fixed)
    small = [Item(square, 1), Item(SHAPES["kite"], 2)]
    layout = nest(small, sheet, 1.0, ANY, blocks=7, effort=Effort.QUICK, fixed=fixed)
    assert layout.prints > 1
    check_layout(layout, small, sheet, 1.0, 7, fixed)


def test_no_room_beside_fixtures_is_said():
    """Fixtures that don't fit a sheet together, leave no room for a shape, or are flipped, are errors."""
    sheet, large = Usable(100.0, 100.0), Item(polygon([(0, 0), (90, 0), (90, 60), (0, 60)]), 1)
    with pytest.raises(OutputError, match="what lies on every sheet does not fit"):
        nest([Item(SHAPES["kite"], 1)], sheet, 0.0, ANY, fixed=[large, large], effort=Effort.QUICK)
    with pytest.raises(OutputError, match="shape 1 has no room beside"):
        nest([large], sheet, 0.0, ANY, fixed=[large], effort=Effort.QUICK)
    with pytest.raises(GeometryError, match="flipped"):
        nest([large], sheet, 0.0, ANY, fixed=[Item(SHAPES["kite"], 1, 1)], effort=Effort.QUICK)


def test_what_does_not_fit_is_said():
    """A shape that fits no sheet at any turn allowed is an error that names it."""
    small, strip = SHAPES["kite"], polygon([(0, 0), (130, 0), (130, 5), (0, 5)])
    with pytest.raises(OutputError, match="shape 2 does not fit"):
        nest([Item(small, 1), Item(strip, 1)], Usable(100.0, 100.0), 1.0, Rotation(pi / 2))


def test_many_small_pieces_reach_four_fifths_of_the_bound():
    """A sheet of more than a hundred pieces makes at least 80 % of the area bound."""
    items = [Item(SHAPES["triangle"], 6), Item(SHAPES["kite"], 6), Item(SHAPES["rhomb 60"], 2)]
    sheet = Usable(590.0, 390.0)
    layout = nest(items, sheet, 2.0, ANY, effort=Effort.QUICK)
    assert len(layout.sheets[0]) > 100
    assert layout.blocks_per_sheet >= 0.8 * layout.area_bound
    check_layout(layout, items, sheet, 2.0, layout.blocks)
