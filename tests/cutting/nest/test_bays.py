"""Sheets divided into bays, which the engine fills one by one."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from nest_shapes import SHAPES

from convert.cutting.nest import Effort, Item, Rotation, Usable, asking
from convert.cutting.nest.bays import divided
from convert.cutting.nest.budget import BUDGETS
from convert.cutting.nest.engine import Tried
from convert.cutting.nest.onesheet import Best, Solver
from convert.cutting.nest.shapes import kinds_of

BLOCK = [Item(SHAPES["bean"], 4), Item(SHAPES["kite"], 3)]


def slenderness(bays):
    """Return how many times as long as wide the least square bay is."""
    return max(max(p.width, p.height) / min(p.width, p.height) for _, p in bays)


@given(
    width=st.floats(50.0, 900.0),
    height=st.floats(50.0, 900.0),
    gap=st.floats(0.0, 4.0),
    blocks=st.integers(1, 40),
)
def test_ways_to_divide_a_sheet(width, height, gap, blocks):
    """Bays lie on the sheet, a gap apart, hold all blocks, and are as large as what they hold."""
    sheet, seen = Usable(width, height), set()
    ways = divided(sheet, gap, blocks)
    assert [len(bays) for bays in ways] == sorted((len(bays) for bays in ways), reverse=True)
    for bays, after in pairwise(ways):
        if len(bays) == len(after) and gap < 2.0:
            assert slenderness(bays) <= slenderness(after) * (1.0 + 1e-4)
    for bays in ways:
        assert len(bays) > 1
        assert sum(bay.blocks for bay in bays) == blocks
        grown = [shapely.box(p.x, p.y, p.x + p.width + gap, p.y + p.height + gap) for _, p in bays]
        whole = shapely.union_all(grown)
        assert whole.area == pytest.approx((width + gap) * (height + gap), rel=1e-9)
        assert sum(each.area for each in grown) == pytest.approx(whole.area, rel=1e-9)
        assert whole.bounds == pytest.approx((0.0, 0.0, width + gap, height + gap), abs=1e-6)
        for bay, each in zip(bays, grown, strict=True):
            assert bay.blocks / each.area == pytest.approx(blocks / whole.area, rel=1e-6)
        seen.add(tuple((bay.place.x, bay.place.y) for bay in bays))
    assert len(seen) == len(ways)
    if blocks > 1:
        assert min(len(bays) for bays in ways) == 2


def solver(sheet, *, fixed=(), **changes):
    """Return a search for the places of a block of seven pieces."""
    budget = replace(BUDGETS[Effort.NORMAL], **changes)
    return Solver(kinds_of(BLOCK, Rotation(), fixed), sheet, 1.0, budget, 1, None)


def recorded(monkeypatch, answers):
    """Let the engine answer by its own, or never; return a list of the copies and bays it is asked for."""
    asked, real = [], asking.pack

    def pack(kinds, counts, width, height, gap, *, limits, seed):
        asked.append((sum(counts), round(width, 6), round(height, 6)))
        if not answers:
            return Tried(None, 9, 0.1)
        return real(kinds, counts, width, height, gap, limits=limits, seed=seed)

    monkeypatch.setattr(asking, "pack", pack)
    return asked


def test_columns_of_bays_that_make_no_grid():
    """Eleven blocks are five beside six; twenty-two are so by twos, too."""
    sheet = Usable(292.1, 596.9)
    for blocks, held in ((11, 1), (22, 2)):
        ways = [bays for bays in divided(sheet, 3.0, blocks) if {bay.blocks for bay in bays} == {held}]
        columns = [Counter(round(bay.place.x, 6) for bay in bays) for bays in ways]
        assert {0.0: 5, 134.136364: 6} in columns


def test_a_bay_that_others_wait_for_gets_another_seed(monkeypatch):
    """The engine is asked again for the second kind of bays, but not for the first."""
    asked, real = [], asking.pack

    def pack(kinds, counts, width, height, gap, *, limits, seed):
        wide = width > height
        asked.append((wide, seed))
        return (
            Tried(None, 9, 0.1)
            if wide and seed == 1
            else real(kinds, counts, width, height, gap, limits=limits, seed=seed)
        )

    monkeypatch.setattr(asking, "pack", pack)
    made = solver(Usable(220.0, 290.0))
    best = next(made._in_bays(5))
    assert made.sets(best.spots) == 5
    assert made.passes(best.spots, "as found")
    assert asked == [(False, 1), (True, 1), (True, 2)]
    assert made.engine.spent.empty_bays == 1
    asked.clear()
    made = solver(Usable(290.0, 220.0))
    next(made._in_bays(5), None)
    assert asked[0] == (True, 1)
    assert (True, 2) not in asked


def test_bays_are_filled_and_judged(monkeypatch):
    """All copies of all blocks lie on the sheet, and pass judgement."""
    asked = recorded(monkeypatch, answers=True)
    made = solver(Usable(195.0, 255.0))
    best = next(made._in_bays(4))
    assert best.method == "engine in bays"
    assert Counter(spot.kind for spot in best.spots) == dict(enumerate(made.counts(4)))
    assert made.passes(best.spots, "as found")
    # Bays that are alike are laid by one try.
    assert len(asked) == len(set(asked))


@pytest.mark.parametrize(("most", "tried"), [(0, 0), (2, 2), (99, 5)])
def test_what_ends_the_tries_of_bays(most, tried, monkeypatch):
    """Bays for one of four blocks are quarters, columns and rows; for two, halves. No reports are spent."""
    asked = recorded(monkeypatch, answers=False)
    made = solver(Usable(195.0, 255.0), empty_bays=most)
    assert not list(made._in_bays(4))
    # Of three columns, one is for one block, as of four: that has failed already.
    assert len(asked) == tried
    assert [copies for copies, *_ in asked] == [7, 7, 7, 14, 14][:tried]
    assert made.engine.spent.work == 0


@pytest.mark.parametrize(("share", "is_tried"), [(0.85, True), (0.95, False)])
def test_bays_have_room_to_spare(share, is_tried, monkeypatch):
    """Copies that would take nearly all of the sheet are not asked for in bays."""
    asked = recorded(monkeypatch, answers=False)
    sheet = Usable(195.0, 255.0)
    longer = 4.0 / (share * solver(sheet).bound)
    made = solver(Usable(195.0, (sheet.height + 1.0) * longer - 1.0))
    assert 4.0 / made.bound == pytest.approx(share)
    assert not list(made._in_bays(4))
    assert bool(asked) == is_tried


def test_no_bays_beside_what_lies_on_every_sheet(monkeypatch):
    """Where there are fixtures, bays would not be alike, and none is tried."""
    asked = recorded(monkeypatch, answers=False)
    made = solver(Usable(195.0, 255.0), fixed=(Item(SHAPES["square"], 1),))
    assert not list(made._in_bays(4))
    assert not asked


def test_bays_are_for_few_copies(monkeypatch):
    """No more copies are asked for than few, if need be none."""
    asked = recorded(monkeypatch, answers=False)
    made = solver(Usable(800.0, 800.0), empty_bays=99)
    assert not list(made._in_bays(30))
    assert asked
    assert max(asked)[0] == 35
    asked.clear()
    assert not list(made._in_bays(217))
    assert not asked


@pytest.mark.parametrize(("limit", "asked_for"), [(8, [7, 8]), (7, [7])])
def test_bays_may_make_more_blocks_than_were_asked_for(limit, asked_for, monkeypatch):
    """Where nothing makes one block more, bays are tried for two more, as far as area allows."""
    tried = []
    made = solver(Usable(195.0, 255.0))

    def in_bays(blocks):
        tried.append(blocks)
        return iter([Best(8, (), "engine in bays")] if blocks == 8 else [])

    monkeypatch.setattr(made, "_in_bays", in_bays)
    for other in ("_patched", "_mixed_beds", "_relaid", "_engine_tries"):
        monkeypatch.setattr(made, other, lambda _: iter(()))
    found = made._with_blocks(7, limit)
    assert tried == asked_for
    assert (found and found.blocks) == (8 if limit == 8 else None)
