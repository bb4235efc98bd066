"""How many blocks sheets make, how near that is to the bound by area, and how long it takes to find out.

Run it as `python tests/bench/bench_nest.py [--effort quick|normal|best]`. For each fixture, size and profile
it prints blocks a sheet, the bound, the share of it that is reached, density, sheets a block, processor
seconds and the method. `--fixtures`, `--sizes` and `--profiles` take lists with commas; `--gap` replaces the
profiles'. With `--against N` the bare engine is asked for one block more than ours, for N times the processor
time that ours took. With `--known`, blocks and sheets are measured instead whose best numbers were found
before, by rows of a throwaway prototype or by the bare engine at up to 20 s a try. It returns 1 where
ours is lower.
"""

from __future__ import annotations

import argparse
import resource
import sys
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

from convert.block import make_block
from convert.block.scale import scaled
from convert.cutting.cells import usable_cells
from convert.cutting.effort import Effort
from convert.cutting.kerf import parts_for_kerf
from convert.cutting.nest import Item, Rotation, Usable, nest
from convert.cutting.nest.bounds import area_bound, grown_area
from convert.cutting.nest.engine import Limits, pack
from convert.cutting.nest.shapes import kinds_of
from convert.cutting.nested import nested
from convert.cutting.parts import CutChoices, Product
from convert.cutting.products import make_parts
from convert.errors import PiecewrightError
from convert.profile import load_profile
from convert.reader import read_drawing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.cutting.nest import Layout
    from convert.profile import Profile

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from nest_shapes import SHAPES, rhomb, rosette

FIXTURES = Path(__file__).parents[2] / "fixtures"
PROFILES = "letter-card,a4-card,mat-12x12,mat-12x24,die-board,laser-600x400"
INCH = 25.4
MANY = 100
"""Where a sheet holds more pieces than this, SHARE of the bound is to be reached."""
SHARE = 0.8
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


@dataclass(frozen=True, slots=True)
class Row:
    """One measured layout: blocks, pieces on the sheet, share of the bound, seconds."""

    blocks: int
    pieces: int
    share: float
    seconds: float


def spent() -> float:
    """Return the processor seconds of this process and of all it has started and ended."""
    own, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def bare_finds(
    items: Sequence[Item], blocks: int, sheet: Usable, gap: float, rotation: Rotation, seconds: float
) -> bool:
    """Tell whether the bare engine lays so many blocks in so many seconds, shared by its two strips.

    It never gives up.
    """
    kinds = kinds_of(items, rotation)
    grown = [grown_area(kind, gap) for kind in kinds]
    if blocks > area_bound(kinds, grown, sheet, gap):
        return False
    counts = [kind.demand * blocks for kind in kinds]
    limits = Limits(10**9, 10**9, seconds / 2.0, 1e9, hope=inf, more=0.0)
    return pack(kinds, counts, sheet.width, sheet.height, gap, limits=limits, seed=1).spots is not None


def known_blocks(effort: Effort, times: float) -> bool:
    """Print ours beside the known numbers; tell whether none is lower."""
    good = True
    for (gap, name), numbers in KNOWN.items():
        items, drawn = BLOCKS[name]
        for (sheet, size), known in zip(SHEETS.items(), numbers, strict=True):
            begin = spent()
            layout = nest(items, Usable(*size), gap, Rotation(), effort=effort, drawn=drawn)
            took = spent() - begin
            ours = layout.blocks_per_sheet
            good &= ours >= known
            print(
                f"gap {gap:g} {name:7} {sheet:7} ours {ours:3} known {known:3} bound {layout.area_bound:3} "
                f"density {layout.density:.2f} {took:5.1f} s  {layout.methods[0]}"
            )
            if times and bare_finds(items, ours + 1, Usable(*size), gap, Rotation(), times * took):
                print(f"    the bare engine lays {ours + 1} blocks")
                good = False
    return good


def fixture(block: Block, profile: Profile, effort: Effort, times: float, name: str) -> tuple[Row, bool]:
    """Print and return what a sheet makes of a block; tell whether the bare engine finds no more."""
    begin = spent()
    layout: Layout = nested(block, profile, effort, blocks=None).layout
    took = spent() - begin
    ours, bound = layout.blocks_per_sheet, layout.area_bound
    pieces, share = ours * len(block.pieces), ours / bound if bound else 1.0
    made = f"{ours:3} blocks" if ours else f"{layout.sheets_per_block:3} sheets"
    how = f"{layout.methods[0]}  {'; '.join(layout.notes)}"
    print(
        f"{name:20}{profile.name:14} {made}  bound {bound:3}  share {share:4.2f}  density "
        f"{layout.density:.2f}  {pieces:4} pieces {took:5.1f} s  {how}",
        flush=True,
    )
    good = True
    if times:
        parts = parts_for_kerf(
            make_parts(block, Product.FINISHED, CutChoices(), profile.kerf).parts, profile.kerf
        )
        items = [Item(part.outline, len(part.pieces), len(part.reversed_pieces)) for part in parts]
        room, _ = usable_cells(parts, profile)
        sheet = Usable(room.width, room.height)
        good = not bare_finds(items, ours + 1, sheet, profile.gap, Rotation(), times * took)
        if not good:
            print(f"    the bare engine lays {ours + 1} blocks", flush=True)
    return Row(ours, pieces, share, took), good


def fixtures(asked: argparse.Namespace) -> bool:
    """Print what sheets make of all fixtures, then how many are good; tell whether all are."""
    names = asked.fixtures.split(",") if asked.fixtures else sorted(p.stem for p in FIXTURES.glob("*.svg"))
    rows, beaten = [], 0
    for name in names:
        try:
            block = make_block(read_drawing(FIXTURES / f"{name}.svg"))
        except PiecewrightError:
            continue  # a drawing that is refused on purpose
        for inches in map(float, asked.sizes.split(",")):
            sized = scaled(block, inches * INCH / block.width)
            for profile in map(load_profile, asked.profiles.split(",")):
                used = profile if asked.gap is None else replace(profile, gap=asked.gap)
                try:
                    row, good = fixture(
                        sized, used, Effort(asked.effort), asked.against, f"{name} {inches:g}"
                    )
                except PiecewrightError:
                    continue  # a piece larger than the sheet
                rows.append(row)
                beaten += not good
    many = [row for row in rows if row.pieces > MANY]
    reached = sum(row.share >= SHARE for row in many)
    total = sum(row.seconds for row in rows)
    print(f"{len(rows)} sheets, {sum(row.blocks for row in rows)} blocks, {total:.0f} processor seconds")
    print(f"of {len(many)} sheets of more than {MANY} pieces {reached} reach {SHARE:.0%} of the bound")
    if asked.against:
        print(f"the bare engine with {asked.against:g} times the time finds more on {beaten}")
    return not beaten and reached == len(many)


def main() -> int:
    """Print all numbers; return 1 when one is lower than it should be."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--effort", default="normal", choices=[effort.value for effort in Effort])
    parser.add_argument("--fixtures", default="")
    parser.add_argument("--sizes", default="4,6,9")
    parser.add_argument("--profiles", default=PROFILES)
    parser.add_argument("--gap", type=float)
    parser.add_argument("--against", type=float, default=0.0, metavar="N")
    parser.add_argument("--known", action="store_true")
    asked = parser.parse_args()
    good = known_blocks(Effort(asked.effort), asked.against) if asked.known else fixtures(asked)
    return int(not good)


if __name__ == "__main__":
    sys.exit(main())
