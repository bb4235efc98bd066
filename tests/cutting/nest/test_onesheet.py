"""How the engine is asked for copies on one sheet: by how many seeds, how closely, and when no longer."""

from collections import Counter
from dataclasses import replace
from math import atan2, pi

import pytest
from nest_shapes import SHAPES, square_in_a_square

from convert.cutting.nest import Effort, Item, Rotation, Usable, asking
from convert.cutting.nest.beds import Place, Spot
from convert.cutting.nest.budget import BUDGETS
from convert.cutting.nest.engine import Tried
from convert.cutting.nest.mixtures import Mixture
from convert.cutting.nest.onesheet import Solver
from convert.cutting.nest.shapes import kinds_of

SHEET = Usable(292.1, 290.0)


def solver(effort=Effort.NORMAL):
    """Return a search for the places of dented shapes of some 13 cm², 61 to a sheet by area."""
    return Solver(kinds_of([Item(SHAPES["bean"], 1)], Rotation()), SHEET, 1.0, BUDGETS[effort], 5, None)


def engine(monkeypatch, *answers):
    """Let the engine give these answers in turn, then fail; return a list of what it is asked for."""
    asked, left = [], list(answers)

    def pack(kinds, counts, width, height, gap, *, limits, seed):  # noqa: ARG001 - called as the real one is
        asked.append((sum(counts), width, limits.work, seed))
        return left.pop(0) if left else Tried(None, 50, 0.1)

    monkeypatch.setattr(asking, "pack", pack)
    return asked


def share_of(made, count):
    """Return how much of the sheet so many copies take, each with half the gap round it."""
    return count * made.grown[0] / ((made.sheet.width + 1.0) * (made.sheet.height + 1.0))


def whole(made):
    """Return the whole sheet."""
    return Place(0, 0.0, 0.0, made.sheet.width, made.sheet.height)


@pytest.mark.parametrize(("effort", "seeds"), [(Effort.QUICK, [5]), (Effort.NORMAL, [5, 6])])
def test_few_copies_get_a_second_seed(effort, seeds, monkeypatch):
    """Few copies that found no place by one seed are tried by another one, many are not."""
    asked = engine(monkeypatch)
    assert solver(effort=effort).engine.laid([20], whole(solver())) is None
    assert [seed for *_, seed in asked] == seeds
    asked.clear()
    solver(effort=effort).engine.laid([33], whole(solver()))
    assert [seed for *_, seed in asked] == [5]


@pytest.mark.parametrize(("step", "asked_for"), [(None, [100.0]), (pi, [100.0, 200.0])])
def test_a_turned_place_is_the_same_place(step, asked_for, monkeypatch):
    """What failed in a place is not tried in the same one turned, unless shapes may not be turned along."""
    asked = engine(monkeypatch)
    kinds = kinds_of([Item(SHAPES["bean"], 1)], Rotation(step))
    made = Solver(kinds, SHEET, 1.0, replace(BUDGETS[Effort.NORMAL], tries_of_few=1), 5, None)
    for width, height in ((100.0, 200.0), (200.0, 100.0), (100.0, 200.0)):
        assert made.engine.laid([7], Place(0, 3.0, 4.0, width, height)) is None
    assert [width for _, width, *_ in asked] == asked_for


@pytest.mark.parametrize("answer", [Tried((), 5, 0.1), Tried(None, 5, 9.0, by_clock=True)])
def test_one_seed_is_enough_where_it_finds_places_or_takes_long(answer, monkeypatch):
    """After a success nothing more is asked, nor after a try that only the clock ended."""
    asked = engine(monkeypatch, answer)
    solver().engine.laid([20], whole(solver()))
    assert len(asked) == 1


def test_a_whole_sheet_is_asked_for_closely_but_not_for_long(monkeypatch):
    """Between 85 and 91 % of a sheet: 350 reports, for the whole of it only; above that none."""
    asked = engine(monkeypatch)
    made = solver()
    near, over = (next(n for n in range(100) if share_of(made, n) > share) for share in (0.86, 0.91))
    made.engine.laid([near], whole(made))
    assert asked == [(near, SHEET.width, 350, 5)]
    made.engine.laid([over], whole(made))
    part = Place(0, 0.0, 0.0, SHEET.width, SHEET.height * 0.9)
    made.engine.laid([int(near * 0.9)], part)
    assert len(asked) == 1


@pytest.mark.parametrize(("effort", "work"), [(Effort.QUICK, []), (Effort.NORMAL, [350, 350])])
def test_few_copies_are_asked_for_still_more_closely(effort, work, monkeypatch):
    """Between 91 and 95 % of a sheet: up to thirty copies, with 350 reports a seed; above that none."""
    asked = engine(monkeypatch)
    kinds = kinds_of([Item(SHAPES["bean"], 1)], Rotation())
    for share in (0.93, 0.96):
        high = 20 / share * solver().grown[0] / (SHEET.width + 1.0) - 1.0
        made = Solver(kinds, Usable(SHEET.width, high), 1.0, BUDGETS[effort], 5, None)
        assert share_of(made, 20) == pytest.approx(share)
        made.engine.laid([20], whole(made))
        assert [reports for _, _, reports, _ in asked] == work


def test_many_copies_are_asked_for_but_not_for_long(monkeypatch):
    """More than 60: 350 reports for the whole of a sheet, and none for a part of it."""
    asked = engine(monkeypatch)
    kinds = kinds_of([Item(SHAPES["bean"], 1)], Rotation())
    made = Solver(kinds, Usable(600.0, 600.0), 1.0, BUDGETS[Effort.NORMAL], 5, None)
    for number in (60, 61):
        made.engine.laid([number], whole(made))
        made.engine.laid([number], Place(0, 0.0, 0.0, 600.0, 500.0))
    assert [(count, work) for count, _, work, _ in asked] == [(60, 1000), (60, 1000), (61, 350)]


@pytest.mark.parametrize(
    ("first_crowded", "tried"),
    [
        # The mixture is less crowded than the sheet, and the clock ends it: the sheet has its turn.
        (0.1, [40, 45]),
        # The clock ends the sheet's try: what is more crowded has none.
        (0.9, [45]),
    ],
)
def test_what_the_clock_ends(first_crowded, tried, monkeypatch):
    """A try that the clock ended ends those of more crowded mixtures, but no mixture ends the sheet's."""
    asked = engine(monkeypatch, *[Tried(None, 5, 9.0, by_clock=True)] * 2)
    made = solver()
    part = Mixture("beds", (), (40,), Place(0, 0.0, 0.0, SHEET.width, 280.0), first_crowded)
    monkeypatch.setattr(made.mixer.__class__, "mixtures", lambda *_: [part])
    assert not list(made._engine_tries(45))
    assert [count for count, *_ in asked] == tried


def test_the_clock_of_an_earlier_number_of_blocks_does_not_count(monkeypatch):
    """Each number of blocks has its own mixtures, although the clock ended a try for fewer blocks before."""
    late = Tried(None, 5, 9.0, by_clock=True)
    asked = engine(monkeypatch, late, late)
    made = solver()
    mixture = Mixture("beds", (), (33,), Place(0, 0.0, 0.0, SHEET.width, 280.0), 0.9)
    monkeypatch.setattr(made.mixer.__class__, "mixtures", lambda *_: [mixture])
    assert not list(made._engine_tries(44))
    assert not list(made._engine_tries(45))
    assert [count for count, *_ in asked] == [44, 45]


def test_what_was_not_asked_for_lack_of_reports_is_asked_later(monkeypatch):
    """A task that found all reports spent has its turn once there are reports again."""
    asked = engine(monkeypatch)
    made = solver()
    made.engine.spent.work = made.budget.all_tries
    assert made.engine.laid([33], whole(made)) is None
    assert not asked
    made.engine.spent.work = 0
    made.engine.laid([33], whole(made))
    assert [count for count, *_ in asked] == [33]


def squares(effort):
    """Return a search for places of a square on its tip and four triangles: beds lack two for 14 blocks."""
    items, drawn = square_in_a_square()
    spots = tuple(Spot(item, atan2(at.b, at.a), complex(at.dx, at.dy)) for item, at in drawn)
    return Solver(kinds_of(items, Rotation()), Usable(292.1, 596.9), 3.0, BUDGETS[effort], 5, spots)


def test_parts_of_beds_leave_all_copies_to_be_laid():
    """Beside rows or whole blocks, what stays passes judgement, and with the rest it is all there is."""
    made = squares(Effort.NORMAL)
    made.budget = replace(made.budget, filled=40)
    counts = made.counts(14)
    parts = made._parts(counts)
    assert {part.method for part in parts} == {"beds", "tiling"}
    for part in parts:
        stays = Counter(spot.kind for spot in part.spots)
        assert tuple(stays[number] + rest for number, rest in enumerate(part.rest)) == counts
        assert made.passes(part.spots, part.method)


@pytest.mark.parametrize("effort", [Effort.QUICK, Effort.NORMAL])
def test_without_budget_no_part_is_laid_anew(effort, monkeypatch):
    """By quick the engine is not asked for parts of beds, by normal it is."""
    asked = engine(monkeypatch)
    made = squares(effort)
    assert not list(made._relaid(14))
    assert bool(asked) == (effort is Effort.NORMAL)
