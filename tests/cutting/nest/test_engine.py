"""The engine in its own process: right layouts, the same twice, limits kept, and no harm when it fails."""

import subprocess
import time
from math import inf

import numpy as np
import pytest
from nest_shapes import SHAPES, polygon

from convert.cutting.nest import child, engine
from convert.cutting.nest.accept import Judge
from convert.cutting.nest.engine import Limits, fits, pack
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import kinds_of

LIMITS = {"limits": Limits(60, 1, 10.0, 100.0), "seed": 1}


def kinds(*names, rotation=None):
    """Return kinds of shapes, each on both hands."""
    return kinds_of([Item(SHAPES[name], 1, 1) for name in names], rotation or Rotation())


@pytest.mark.parametrize(("gap", "room"), [(0.0, (220.0, 160.0)), (2.0, (160.0, 240.0))])
def test_layouts_pass_judgement_and_are_the_same_twice(gap, room):
    """A roomy sheet is laid by the engine, inside and apart with true curves, twice to the last bit alike."""
    shapes = kinds("kite", "bean", "lens")
    counts = (3, 2, 2, 1, 1, 2)
    one, two = (pack(shapes, counts, *room, gap, **LIMITS) for _ in range(2))
    assert one.spots is not None
    assert one.spots == two.spots
    assert one.work == two.work
    assert sorted(s.kind for s in one.spots) == [0, 0, 0, 1, 1, 2, 2, 3, 4, 5, 5]
    judge = Judge([kind.drawn for kind in shapes], gap)
    copies = [(s.kind, shapes[s.kind].turn_and_shift(s.angle, s.at)) for s in one.spots]
    assert judge.judge(copies, *room).passed


def test_what_can_not_fit_ends_by_work():
    """More area than the sheet has: the try ends when its work is spent, and says no."""
    tried = pack(kinds("kite"), (40, 0), 100.0, 100.0, 0.0, limits=Limits(15, 1, 20.0, 100.0), seed=1)
    assert tried.spots is None
    assert tried.work >= 15
    assert not tried.by_clock
    assert not tried.failed


def test_the_clock_ends_a_try():
    """Processor time ends a try that has work left, and that is told apart."""
    began = time.monotonic()
    tried = pack(kinds("kite"), (40, 0), 100.0, 100.0, 0.0, limits=Limits(10**9, 10**9, 0.5, 1e9), seed=1)
    assert tried.spots is None
    assert tried.by_clock
    assert time.monotonic() - began < 0.5 * engine.PATIENCE + engine.GRACE_S + 1.0


@pytest.mark.parametrize(("height", "seeds"), [(180.0, 2), (180.1, 1)])
def test_a_square_is_tried_with_two_seeds(height, seeds, monkeypatch):
    """A square is the same strip both ways, so the second strip has another seed; others have the same."""
    tasks = []
    real = engine._start

    def start(task, quarter):
        tasks.append(task)
        return real(task, quarter)

    monkeypatch.setattr(engine, "_start", start)
    assert pack(kinds("kite"), (3, 2), 180.0, height, 1.0, **LIMITS).spots
    assert len(tasks) == 2
    assert len({task["seed"] for task in tasks}) == seeds
    assert (tasks[0]["height"] == tasks[1]["height"]) == (seeds == 2)


def test_only_allowed_turns():
    """Turning in half turns only: every copy lies at 0 or 180 degrees, whichever way the strip lay."""
    shapes = kinds("kite", rotation=Rotation(3.141592653589793))
    for room in ((300.0, 60.0), (60.0, 300.0)):
        tried = pack(shapes, (4, 1), *room, 1.0, **LIMITS)
        assert tried.spots is not None
        for spot in tried.spots:
            assert shapes[spot.kind].may_turn(round(spot.angle / 3.141592653589793, 4) * 3.141592653589793)


def test_a_strip_too_narrow_for_the_engine_leaves_the_other(monkeypatch):
    """The engine may find no way for a shape into one strip, and panic: the other strip's layout counts."""
    task = engine._task

    def narrow(kinds, counts, room, gap, quarter, limits, seed):
        made = task(kinds, counts, room, gap, quarter, limits, seed)
        return {**made, "height": 1.0} if quarter else made

    monkeypatch.setattr(engine, "_task", narrow)
    tried = pack(kinds("square", "kite"), (3, 0, 2, 0), 120.0, 200.0, 3.0, **LIMITS)
    assert tried.spots is not None
    assert not tried.failed


def test_a_broken_engine_is_told_and_leaves_no_process(monkeypatch, tmp_path):
    """A child that dies at once counts as failed; nothing hangs."""
    broken = tmp_path / "broken.py"
    broken.write_text("raise SystemExit(3)\n")
    monkeypatch.setattr(engine, "_CHILD", broken)
    started = []
    popen = subprocess.Popen

    def remembered(*args, **kwargs):
        started.append(popen(*args, **kwargs))
        return started[-1]

    monkeypatch.setattr(engine.subprocess, "Popen", remembered)
    tried = pack(kinds("kite"), (2, 0), 100.0, 100.0, 0.0, **LIMITS)
    assert tried.spots is None
    assert tried.failed
    assert len(started) == 2
    assert all(process.poll() is not None for process in started)


def test_fitting_at_some_turn():
    """A strip longer than a sheet fits slanted when it may turn by any angle, not in steps of 90 degrees."""
    strip = polygon([(0, 0), (130, 0), (130, 5), (0, 5)])
    free = kinds_of([Item(strip, 1)], Rotation())
    steps = kinds_of([Item(strip, 1)], Rotation(1.5707963267948966))
    assert fits(free, [1], 100.0, 100.0)
    assert not fits(steps, [1], 100.0, 100.0)
    assert fits(steps, [0], 100.0, 100.0)
    assert fits(steps, [1], 5.0, 130.0)


@pytest.mark.parametrize("quarter", [0, 1])
@pytest.mark.parametrize(("over", "moved"), [(0.0007, True), (0.002, False)])
def test_copies_that_rounding_lays_over_an_edge_are_moved_back(quarter, over, moved):
    """The engine's seven digits lay a copy a hair over each edge of the sheet; farther out is an error."""
    (square,) = kinds_of([Item(SHAPES["square"], 4)], Rotation())
    width, height, gap, half = 300.0, 200.0, 3.0, 19.05
    length, across = (height, width) if quarter else (width, height)
    near, far = half - over + gap, [side - half + over + gap for side in (length, across)]
    copies = [[0, 0.0, near, near], [0, 90.0, near, far[1]], [0, 0.0, far[0], near], [0, 180.0, *far]]
    run = engine._Run(None, quarter, end={"copies": copies})
    spots = engine._spots([square], [4], run, (width, height), gap)
    z = np.array([square.corners * np.exp(1j * spot.angle) + spot.at for spot in spots])
    outside = max(-z.real.min(), -z.imag.min(), z.real.max() - width, z.imag.max() - height)
    assert outside == pytest.approx(0.0 if moved else over, abs=1e-9)


def shrinking(pace, stalls_at, seconds):
    """Return a strip's lengths, from 1.3 times its target on, and their times: forty reports a second."""
    times = [n / 40.0 for n in range(round(seconds * 40))]
    return [max(1.3 - pace * t, stalls_at) for t in times], times


@pytest.mark.parametrize(
    ("pace", "stalls_at", "last", "is_late"),
    [
        (0.05, 1.0, 7.0, False),  # six seconds in all, as it goes on
        (0.05, 1.0, 5.0, True),
        (0.20, 1.05, 60.0, True),  # nothing in the latter half of its time
        (0.20, 1.01, 60.0, False),  # nearly there
        (0.20, 1.05, inf, False),  # never given up
        (0.0, 0.0, 5.0, False),  # no length yet
    ],
)
def test_a_strip_that_shrinks_too_slowly_is_given_up(pace, stalls_at, last, is_late):
    """What counts is how the strip shrank in the latter half of its time, and what that makes of the rest."""
    past, times = shrinking(pace, stalls_at, 4.0)
    if not stalls_at:
        past = [0.0] * len(past)
    assert child._too_late(past, times, 0.0, 4.0, last) == is_late
    assert not child._too_late(past[:90], times[:90], 0.0, 4.0, last)


@pytest.mark.parametrize(
    ("over", "share", "most", "is_behind"),
    [
        (0.50, 0.04, 0.015, False),  # too early to tell
        (0.16, 0.1, 0.015, True),
        (0.14, 0.1, 0.015, False),
        (0.04, 0.5, 0.015, True),
        (0.02, 0.5, 0.015, False),
        (0.04, 0.5, inf, False),  # never given up
        (-1.0, 0.5, 0.015, False),  # no length yet
    ],
)
def test_a_strip_that_is_far_too_long_for_its_time_is_given_up(over, share, most, is_behind):
    """The more of its time is over, the less may be missing."""
    assert child._is_behind([1.3, 1.0 + over], 5.0 * share, 5.0, most) == is_behind
    assert not child._is_behind([], 5.0 * share, 5.0, most)
    assert not child._is_behind([1.3], 5.0, inf, most)  # its pace is not known yet
