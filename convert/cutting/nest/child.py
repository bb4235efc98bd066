"""The engine's own process: reads one task as JSON, reports its work line by line, and prints the layout.

This file is run as a program and imports nothing of ours, so that it starts fast. The engine must not run in
our own process: it swallows Ctrl-C, ends a bad task in a panic, and goes on past its time limit.

A **report** is one step of the engine's first phase. The same task gives the same reports in the same order
on the same kind of machine, so counting them measures work without a clock. What ends a try that fails is
told from its reports alone: too many of them, a strip that shrinks too slowly (by about one part in a
thousand at each success), or a length given up by the engine, which is a report, too. Reports become rare
where a strip can hardly be shrunk (measured: 200 to 400 a second at first, whatever the number of shapes, and
as few as one in five seconds in the end). So there is also a limit of processor time: so many times what the
task's own first hundred reports took, which is the same on a slow machine as on a fast one. Of 10 measured
strips that succeeded after those, none took more than 18 times as long; of 16 that took more than 20 times as
long none had succeeded when they were ended, after 20 seconds at most. Where little is missing, it may be
longer: two strips that then were within 1.2 % of their target reached it in later runs. A strip of which the
latter half of its time says that it will take more than twice its time ends at once. And since a hundred
reports may take but a fifth of a second, which other work on the machine stretches as it may, no try ends so
before a share of the seconds that it may take at most.
A strip of a bay ends, too, once it is longer than those that succeeded were after as much of their time.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from bisect import bisect
from math import inf

POLL_S = 0.01
QUADTREE = 3
"""How finely the engine divides a sheet: that changes its speed only, and this was the fastest of 3 to 5."""
TOLD = 100
"""How fast a strip shrinks is told from so many reports, the last ones."""
NEAR = 1.03
"""A strip that is at most so many times as long as it is to be may get more time."""
CLOSE = 1.015
"""A strip that is so near is given all its time: one at 1.013 brought nothing for two seconds, then all."""
LATE = 1.6
"""How fast a strip shrinks by the clock is rougher than by reports, so there is so much more hope."""
LEAST = 0.2
"""This share of its seconds a try may always take, unless it is behind."""
START = 0.05
"""Before so large a share of its time has passed, a strip is not behind."""
PATIENCE = 12.0
"""So many times its processor time a task may take in all, where other programs hold it up."""


def main() -> None:
    """Solve the task on standard input; print lines of the work spent, then the end as one more line."""
    import spyrrow

    task = json.loads(sys.stdin.readline())
    items = []
    for number, shape in enumerate(task["shapes"]):
        points = [tuple(point) for point in shape["points"]]
        items.append(spyrrow.Item(str(number), points, shape["demand"], shape["angles"]))
    instance = spyrrow.StripPackingInstance("", task["height"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=False,
        quadtree_depth=QUADTREE,
        total_computation_time=None,
        exploration_time=int(PATIENCE * task["seconds"]) + 2,
        compression_time=1,
        num_workers=1,
        seed=task["seed"],
        min_items_separation=task["gap"] or None,
    )
    queue = spyrrow.ProgressQueue()
    solver = threading.Thread(target=instance.solve, args=(config, queue), daemon=True)
    patience = time.monotonic() + PATIENCE * task["seconds"]
    solver.start()
    work, given_up, best = 0, 0, 0.0
    past: list[float] = []
    times: list[float] = []
    begin, end, hope, behind = time.process_time(), task["seconds"], task["hope"], task["behind"]
    least, by_pace = begin + LEAST * task["seconds"], inf
    while solver.is_alive() and time.monotonic() < patience:
        now = time.process_time()
        last = end * (1.0 + task["more"] * _is_near(past))
        if now >= last or (now >= least and _too_late(past, times, begin, now, hope * LATE * last)):
            break
        if _is_behind(past, now - begin, by_pace, behind):
            break
        solver.join(POLL_S)
        for kind, solution in queue.drain():
            work += 1
            given_up += kind == spyrrow.ReportType.ExplInfeas
            if kind == spyrrow.ReportType.ExplFeas:
                best = solution.width
            if best and best <= task["length"]:
                copies = [(int(copy.id), copy.rotation, *copy.translation) for copy in solution.placed_items]
                _finish({**_spent(work), "copies": copies})
            past.append(best / task["length"])
            times.append(time.process_time())
            if work == TOLD:
                by_pace = task["times"] * (time.process_time() - begin)
                end = min(end, max(time.process_time() + by_pace, least))
            if work >= task["work"] or given_up >= task["given_up"] or _hopeless(past, task["work"], hope):
                _finish({**_spent(work), "end": "work"})
        _say(_spent(work))
    _finish({**_spent(work), "end": "clock" if solver.is_alive() else "failed"})


def _hopeless(past: list[float], most: int, hope: float) -> bool:
    """Tell whether a strip, shrunk to `past` times its target by report, needs far more than `most` reports.

    A strip shrinks by a share of its length at each step, and ever more slowly.
    """
    if len(past) <= TOLD or not past[-1 - TOLD]:
        return False
    pace = (past[-1 - TOLD] - past[-1]) / TOLD
    return past[-1] - 1.0 > hope * pace * (most - len(past))


def _is_near(past: list[float]) -> bool:
    return bool(past) and 0.0 < past[-1] < NEAR


def _too_late(past: list[float], times: list[float], begin: float, now: float, last: float) -> bool:
    """Tell whether a strip that shrinks on as in the latter half of its time won't be short enough by `last`.

    A strip that is nearly short enough may bring nothing for long, and then all at once.
    """
    if len(past) < TOLD or past[-1] < CLOSE:
        return False
    half = bisect(times, (begin + now) / 2.0) - 1
    if half < 0 or not past[half]:
        return False
    pace = (past[half] - past[-1]) / (now - times[half])
    return past[-1] - 1.0 > pace * (last - now)


def _is_behind(past: list[float], passed: float, whole: float, most: float) -> bool:
    """Tell whether a strip is longer than those that succeeded were after so much of their whole time.

    Shrinking gets slower and slower: what is missing, times the share of the time that has passed.
    """
    return bool(past) and passed > START * whole and (past[-1] - 1.0) * passed > most * whole


def _spent(work: int) -> dict[str, object]:
    return {"work": work, "seconds": time.process_time()}


def _say(line: object) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


def _finish(line: object) -> None:
    _say(line)
    os._exit(0)  # the solver can't be told to stop


if __name__ == "__main__":
    main()
