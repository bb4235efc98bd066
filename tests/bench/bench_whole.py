"""How long one whole conversion takes: sixty pieces, three sizes, both formats, both arrangements.

Run it as `python tests/bench/bench_whole.py`. For a block of straight pieces and for one of Béziers it
prints processor seconds of the command, start-up included, as the least and the middle of five
runs; to reach: under 1.5. Then, by the clock of one run each, what closer layouts take for blocks of 24, 36
and 60 pieces, and what booklets take; to reach with two processors: `quick` under 3 s, `normal` under 15.

`--every` measures instead, by the clock of one run each, SVG and DXF of every fixture that can be pieced,
at 4, 6 and 9 in on Letter, with each effort.
"""

from __future__ import annotations

import argparse
import os
import shlex
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

RUNS = 5
LIMIT_S = 1.5
EFFORT_LIMITS_S = {"quick": 3.0, "normal": 15.0}
FIXTURES = Path(__file__).parents[2] / "fixtures"
SIZES = ("small=4in", "medium=6in", "large=9in")
FOUR = """<svg xmlns="http://www.w3.org/2000/svg" width="{whole}" height="{whole}">
<g id="one">{one}</g>
<use href="#one" x="{half}"/><use href="#one" y="{half}"/><use href="#one" x="{half}" y="{half}"/>
</svg>"""


def processor_seconds(command: list[str]) -> float:
    """Return the processor time, user and system, that `command` takes.

    It may keep its modules compiled, as an installed program has them; not to costs it a sixth of its time.
    """
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    before = os.times()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=environment)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def four_times(name: str, side: int, path: Path) -> Path:
    """Write a block of four copies of a fixture, which is so many units wide and high."""
    text = (FIXTURES / f"{name}.svg").read_text("utf-8")
    inner = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
    path.write_text(FOUR.format(one=inner, half=side, whole=2 * side), "utf-8")
    return path


def by_effort(drawing: Path, folder: Path, kinds: tuple[str, ...] = ("svg,dxf", "pdf")) -> bool:
    """Convert a drawing with each effort, print how long it takes, and tell whether all were in time."""
    good = True
    sizes = [word for size in SIZES for word in ("--size", size)]
    for effort, limit in EFFORT_LIMITS_S.items():
        for kind in kinds:
            options = [*sizes, "--effort", effort, "--formats", kind]
            into = folder / f"{effort}-{kind[:3]}"
            command = [sys.executable, "-m", "convert", "convert", str(drawing), *options, "--out", str(into)]
            begin = time.perf_counter()
            try:
                used = processor_seconds(command)
            except subprocess.CalledProcessError as error:
                said = error.stderr.decode().strip().splitlines()
                print(f"  {drawing.stem} ends with {error.returncode}: {said[0][:160] if said else ''}")
                return good and error.returncode == 1
            took = time.perf_counter() - begin
            print(f"  {drawing.stem} {effort:6} {kind:7} {took:5.1f} s, processor {used:5.1f} s")
            good &= took < limit or kind == "pdf"
    return good


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


def pieced() -> list[Path]:
    """Return the fixtures that are not meant to be refused."""
    said = {
        path: tomllib.loads(path.with_suffix(".expected.toml").read_text()) for path in FIXTURES.glob("*.svg")
    }
    return sorted(path for path, expected in said.items() if "refused" not in expected)


def main() -> int:
    """Print the measured times and return 1 when one is over the limit."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--every", action="store_true", help="measure every fixture with each effort instead")
    if parser.parse_args().every:
        with tempfile.TemporaryDirectory() as name:
            in_time = [by_effort(drawing, Path(name), ("svg,dxf",)) for drawing in pieced()]
        return int(not all(in_time))
    start_up = min(processor_seconds([sys.executable, "-m", "convert", "--help"]) for _ in range(RUNS))
    print(f"help alone: processor seconds: least {start_up:.2f}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        straight = Path(shutil.copy(FIXTURES / "midwinter.svg", folder))
        drawings = (straight, four_times("cosmos", 480, folder / "four-flowers.svg"))
        least = [measure(drawing, folder / "out") for drawing in drawings]
        sails = four_times("evening-sail", 160, folder / "four-sails.svg")
        closer = (straight, FIXTURES / "frost-dozen.svg", sails)
        in_time = [by_effort(drawing, folder) for drawing in closer]
    return int(max(least) > LIMIT_S or not all(in_time))


if __name__ == "__main__":
    sys.exit(main())
