"""The engine's own process: reads one task as JSON, reports its work line by line, and prints the layout.

This file is run as a program and imports nothing of ours, so that it starts fast. The engine must not run in
our own process: it swallows Ctrl-C, ends a bad task in a panic, and goes on past its time limit.

Time is processor time, so that other programs on the machine change little. A **report** is one step of the
engine's first phase. The same task gives the same reports in the same order on the same kind of machine,
so counting them measures work without a clock.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time

POLL_S = 0.01
TOLD = 40
"""After so many reports one can tell how fast a strip shrinks."""
HOPE = 1.25
"""A try that will need so many times the work it may spend, or more, is given up."""
PATIENCE = 6.0
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
    work, first, best = 0, 0.0, 0.0
    while solver.is_alive() and time.process_time() < task["seconds"] and time.monotonic() < patience:
        solver.join(POLL_S)
        for kind, solution in queue.drain():
            work += 1
            if kind == spyrrow.ReportType.ExplFeas:
                first, best = first or solution.width, solution.width
            if best and best <= task["length"]:
                copies = [(int(copy.id), copy.rotation, *copy.translation) for copy in solution.placed_items]
                _finish({**_spent(work), "copies": copies})
            target, most = task["length"], task["work"]
            if work >= most or _hopeless(work, first / target, best / target, most):
                _finish({**_spent(work), "end": "work"})
        _say(_spent(work))
    _finish({**_spent(work), "end": "clock" if solver.is_alive() else "failed"})


def _hopeless(work: int, first: float, best: float, most: int) -> bool:
    """Tell whether a strip, shrunk from `first` to `best` times its target so far, won't get there in time.

    A strip shrinks by a share of its length at each step, and ever more slowly.
    """
    if work < TOLD:
        return False
    return best - 1.0 > (first - best) / work * (HOPE * most - work)


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
