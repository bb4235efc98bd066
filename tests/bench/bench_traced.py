"""How well the lines of every fixture are recovered from filled shapes: 1 mm lines, blocks of 150 mm.

Run it as `python tests/bench/bench_traced.py [--width MM] [--dpi DPI] [--fixtures A,B] [--ways A,B]`. Each
fixture is inked in three ways (every stroke outlined; all as one shape with a wobbling outline; scanned and
traced, where a tracer is installed), or in others named. A row tells how far seams and lines are apart (root
mean square, the worse of both directions), how many pieces, templates and junctions there are of how many
drawn, how far the worst junction is from the nearest one drawn, and which places were told. To reach: 0.1 mm,
and all numbers right.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import inked
from fixture_values import GOOD

from convert.block import make_block
from convert.errors import DrawingError, Severity
from convert.reader import read_drawing_bytes

REACH = 0.1
"""Millimetres: seams from lines, root mean square, and junctions from where they were drawn."""


def ways(width: float, dpi: float, folder: Path):
    """Return by name the ways of inking lines."""
    known = {
        "strokes": partial(inked.each_stroke, width=width),
        "union": partial(inked.one_shape, width=width, noise=0.02 * width),
        "border": partial(inked.bold_border, width=width),
    }
    if inked.TRACER:
        known["scan"] = partial(inked.traced, folder=folder, width=width, dpi=dpi)
        known["greys"] = partial(inked.traced_in_greys, folder=folder, width=width, dpi=dpi)
    return known


def trial(name: str, ink) -> tuple[bool, str]:
    """Return whether all is right with one fixture in one way, and the row that tells it."""
    true, lines = inked.block_with_lines(name)
    begin = time.perf_counter()
    try:
        block = make_block(read_drawing_bytes(ink(lines).encode(), "inked.svg"))
    except DrawingError as error:
        told = sorted({f.code for f in error.findings if f.severity is Severity.ERROR})
        return False, f"refused: {' '.join(told)}"
    taken = time.perf_counter() - begin
    rms = max(inked.seams_off(block, lines))
    worst = inked.junctions_off(block, true)
    found, drawn = (len(inked.junctions(b)[0]) for b in (block, true))
    codes = [f.code for f in block.remarks if f.code != "BLOCK-022" and f.severity is not Severity.NOTE]
    pairs = [
        (len(block.pieces), len(true.pieces)),
        (len(block.templates), len(true.templates)),
        (found, drawn),
    ]
    right = rms <= REACH and worst <= REACH and all(got == wanted for got, wanted in pairs)
    numbers = "  ".join(f"{f'{got}/{wanted}':>9}" for got, wanted in pairs)
    end = f"{worst:7.3f}  {taken:5.1f}  {'right' if right else 'WRONG'}  {' '.join(codes)}"
    row = f"{rms:6.3f}  {numbers}  {end.rstrip()}"
    return right, row


def main() -> int:
    """Print the table; return 1 when a trial is wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--width", type=float, default=1.0)
    parser.add_argument("--dpi", type=float, default=300)
    parser.add_argument("--fixtures", default=",".join(e.name for e in GOOD))
    parser.add_argument("--ways", default="strokes,union,scan" if inked.TRACER else "strokes,union")
    wishes = parser.parse_args()
    count = good = 0
    print("fixture          way         rms     pieces  templates  junctions    worst      s")
    with tempfile.TemporaryDirectory() as folder:
        known = ways(wishes.width, wishes.dpi, Path(folder))
        for name in wishes.fixtures.split(","):
            for way in wishes.ways.split(","):
                right, row = trial(name, known[way])
                print(f"{name:16} {way:8} {row}", flush=True)
                count += 1
                good += right
    print(f"{good} of {count} right")
    return 0 if good == count else 1


if __name__ == "__main__":
    sys.exit(main())
