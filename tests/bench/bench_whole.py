"""How long one whole conversion takes: sixty pieces, three sizes, both formats, both arrangements.

Run it as `python tests/bench/bench_whole.py`. It prints processor seconds of the command, start-up
included, as the least and the middle of five runs; to reach: under 1.5.
"""

from __future__ import annotations

import os
import shlex
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 5
LIMIT_S = 1.5
DRAWING = Path(__file__).parents[2] / "fixtures" / "midwinter.svg"
SIZES = ("small=4in", "medium=6in", "large=9in")


def processor_seconds(command: list[str]) -> float:
    """Return the processor time, user and system, that `command` takes."""
    before = os.times()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def main() -> int:
    """Print the measured times and return 1 when they are over the limit."""
    options = [word for size in SIZES for word in ("--size", size)]
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "convert", "convert", str(DRAWING), *options, "--out", folder]
        start_up = [processor_seconds([sys.executable, "-m", "convert", "--help"]) for _ in range(RUNS)]
        taken = []
        wall = []
        for _ in range(RUNS):
            begin = time.perf_counter()
            taken.append(processor_seconds(command))
            wall.append(time.perf_counter() - begin)
        files = sum(1 for path in Path(folder).rglob("*") if path.is_file())
    shown = ["python", *command[1:4], f"fixtures/{DRAWING.name}", *options, "--out", "DIR"]
    print(shlex.join(shown))
    print(f"{files} files; processor seconds: least {min(taken):.2f}, middle {statistics.median(taken):.2f}")
    print(f"wall: least {min(wall):.2f}; help alone: least {min(start_up):.2f}")
    return int(min(taken) > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main())
