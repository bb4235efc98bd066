"""How long one whole conversion takes: sixty pieces, three sizes, both formats, both arrangements.

Run it as `python tests/bench/bench_whole.py`. For a block of straight pieces and for one of Béziers it
prints processor seconds of the command, start-up included, as the least and the middle of five
runs; to reach: under 1.5.
"""

from __future__ import annotations

import os
import shlex
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 5
LIMIT_S = 1.5
FIXTURES = Path(__file__).parents[2] / "fixtures"
SIZES = ("small=4in", "medium=6in", "large=9in")
FOUR = """<svg xmlns="http://www.w3.org/2000/svg" width="960" height="960">
<g id="one">{one}</g><use href="#one" x="480"/><use href="#one" y="480"/><use href="#one" x="480" y="480"/>
</svg>"""


def processor_seconds(command: list[str]) -> float:
    """Return the processor time, user and system, that `command` takes."""
    before = os.times()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def four_flowers(path: Path) -> Path:
    """Write a block of 68 pieces, most with Bézier edges: the flower Cosmos four times."""
    text = (FIXTURES / "cosmos.svg").read_text("utf-8")
    path.write_text(FOUR.format(one=text[text.index("<style") : text.rindex("</svg>")]), "utf-8")
    return path


def measure(drawing: Path, folder: Path) -> float:
    """Convert a drawing again and again, print what it took and return the least processor time."""
    options = [word for size in SIZES for word in ("--size", size)]
    command = [sys.executable, "-m", "convert", "convert", str(drawing), *options, "--out", str(folder)]
    taken, wall = [], []
    for _ in range(RUNS):
        begin = time.perf_counter()
        taken.append(processor_seconds(command))
        wall.append(time.perf_counter() - begin)
    files = sum(1 for path in (folder / drawing.stem).rglob("*") if path.is_file())
    print(shlex.join(["python", *command[1:4], drawing.name, *options, "--out", "DIR"]))
    middle = statistics.median(taken)
    print(f"  {files} files; processor seconds: least {min(taken):.2f}, middle {middle:.2f}")
    print(f"  wall: least {min(wall):.2f}")
    return min(taken)


def main() -> int:
    """Print the measured times and return 1 when one is over the limit."""
    start_up = min(processor_seconds([sys.executable, "-m", "convert", "--help"]) for _ in range(RUNS))
    print(f"help alone: processor seconds: least {start_up:.2f}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        straight = Path(shutil.copy(FIXTURES / "midwinter.svg", folder))
        drawings = (straight, four_flowers(folder / "four-flowers.svg"))
        least = [measure(drawing, folder / "out") for drawing in drawings]
    return int(max(least) > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main())
