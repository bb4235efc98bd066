"""How many blocks sheets make, and how long it takes to find out.

Run it as `python tests/bench/bench_nest.py [EFFORT] [SECONDS]`. For blocks and sheets whose best numbers were
measured before (by rows of a throwaway prototype, or by the bare engine at up to 20 s a try) it prints ours
beside them; for some fixtures, the time for three sizes. With SECONDS, the bare engine is then asked for one
block more than ours, for so many processor seconds.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from convert.block import make_block
from convert.block.scale import scaled
from convert.cutting.effort import Effort
from convert.cutting.nest import Item, Rotation, Usable, nest
from convert.cutting.nest.engine import Limits, pack
from convert.cutting.nest.shapes import kinds_of
from convert.cutting.nested import nested
from convert.profile import load_profile
from convert.reader import read_drawing

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from nest_shapes import SHAPES, rhomb, rosette

FIXTURES = Path(__file__).parents[2] / "fixtures"
INCH = 25.4
SHEETS = {"letter": (203.2, 266.7), "12x12": (292.1, 292.1), "bed": (590.0, 390.0), "12x24": (292.1, 596.9)}
BLOCKS = {
    "hex7": rosette(),
    "d60": ([Item(rhomb(2 * INCH, 60), 6)], []),
    "d30": ([Item(rhomb(2 * INCH, 30), 12)], []),
    "dmix": ([Item(rhomb(1.5 * INCH, 60), 6), Item(rhomb(1.5 * INCH, 30), 12)], []),
    "flower": ([Item(SHAPES["lens"], 6), Item(SHAPES["kite"], 6), Item(SHAPES["hexagon"], 1)], []),
}
# Best of rows and of the bare engine, as measured once by hand, in the order of SHEETS.
KNOWN = {
    (0.0, "hex7"): (4, 6, 17, 13), (0.0, "d60"): (3, 5, 15, 11), (0.0, "d30"): (2, 4, 12, 9),
    (0.0, "dmix"): (2, 4, 12, 9), (0.0, "flower"): (3, 5, 15, 11), (1.0, "hex7"): (3, 6, 16, 12),
    (1.0, "d60"): (3, 5, 15, 11), (1.0, "d30"): (2, 3, 11, 9), (1.0, "dmix"): (2, 3, 11, 8),
    (1.0, "flower"): (3, 5, 14, 10),
}  # fmt: skip
PIECED = ("midwinter", "frost-dozen", "dusk-moth", "cosmos")
SIZES_IN = (4.0, 6.0, 9.0)


def known_blocks(effort: Effort, seconds: float) -> bool:
    """Print ours beside the known numbers; tell whether none is lower."""
    good = True
    for (gap, name), numbers in KNOWN.items():
        items, drawn = BLOCKS[name]
        for (sheet, size), known in zip(SHEETS.items(), numbers, strict=True):
            begin = time.perf_counter()
            layout = nest(items, Usable(*size), gap, Rotation(), effort=effort, drawn=drawn)
            took = time.perf_counter() - begin
            ours = layout.blocks_per_sheet
            good &= ours >= known
            print(
                f"gap {gap:g} {name:7} {sheet:7} ours {ours:3} known {known:3} bound {layout.area_bound:3} "
                f"density {layout.density:.2f} {took:5.1f} s  {layout.methods[0]}"
            )
            if seconds:
                kinds = kinds_of(items, Rotation())
                more = [kind.demand * (ours + 1) for kind in kinds]
                bare = pack(kinds, more, *size, gap, limits=Limits(10**9, 10**9, seconds), seed=1)
                print(f"    bare engine, {ours + 1} blocks: {'found' if bare.spots else 'not found'}")
                good &= bare.spots is None
    return good


def three_sizes(effort: Effort) -> None:
    """Print how long three sizes of each fixture take."""
    for name in PIECED:
        block = make_block(read_drawing(FIXTURES / f"{name}.svg"))
        begin = time.perf_counter()
        made = []
        for inches in SIZES_IN:
            sized = scaled(block, inches * INCH / block.width)
            layout = nested(sized, load_profile("letter-card"), effort).layout
            made.append(str(layout.blocks_per_sheet or f"1/{layout.sheets_per_block}"))
        took = time.perf_counter() - begin
        blocks = ", ".join(made)
        print(f"{name}: {len(block.pieces)} pieces, blocks a sheet {blocks}; three sizes took {took:.1f} s")


def main() -> int:
    """Print all numbers; return 1 when one is lower than what is known."""
    effort = Effort(sys.argv[1]) if len(sys.argv) > 1 else Effort.NORMAL
    good = known_blocks(effort, float(sys.argv[2]) if len(sys.argv) > 2 else 0.0)
    three_sizes(effort)
    return int(not good)


if __name__ == "__main__":
    sys.exit(main())
