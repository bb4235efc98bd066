"""Nesting: the layout of whole blocks on sheets.

One sheet is searched for as many blocks as it can make. A block that needs several sheets, or a number of
blocks, is laid on as few sheets as are found: sheets of whole blocks, or everything mixed as needed, by
beds and by the engine.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from convert.cutting.effort import Effort
from convert.cutting.nest.beds import Place, Spot, fill
from convert.cutting.nest.bounds import density, least_sheets, whole
from convert.cutting.nest.budget import BUDGETS
from convert.cutting.nest.engine import fits
from convert.cutting.nest.model import Item, Layout, Placed, Rotation, Usable
from convert.cutting.nest.onesheet import LACKING, Best, Solver
from convert.cutting.nest.shapes import kinds_of
from convert.cutting.nest.spots import trimmed
from convert.cutting.nest.tiling import block_spots
from convert.errors import GeometryError, OutputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.shapes import Kind
    from convert.geometry.similarity import Similarity

MOST_MIXED = 4000
"""More copies than this are not mixed over sheets: sheets of whole blocks are."""

MOST_GROUP = 3
"""So many blocks, at most, are mixed over sheets as a group, which is made several times."""

Sheets = list[tuple[tuple[Spot, ...], str]]


def nest(
    items: Sequence[Item],
    sheet: Usable,
    gap: float,
    rotation: Rotation,
    *,
    blocks: int | None = None,
    effort: Effort = Effort.NORMAL,
    seed: int = 1,
    drawn: Sequence[tuple[int, Similarity]] = (),
    fixed: Sequence[Item] = (),
) -> Layout:
    """Return the layout of `blocks` blocks, or of as many as fit one sheet (of one, when it needs several).

    Copies keep `gap` mm from each other; they may touch the edge of the usable area. `drawn` are the places
    of a block's pieces as drawn (item, placement), which may tile a sheet.
    `fixed` are fixtures: things that lie on every sheet, `count` copies of each whatever the number of
    blocks, only upright (never turned or flipped), and as far from everything as copies are; the search finds
    their places, too. The layout's `fixed` holds them sheet by sheet, each with its number among `fixed`.
    The same call gives the same layout unless a note says that the clock ended a try.
    *Errors*: OutputError (CUT-030) when a shape fits no sheet at any turn allowed, or has no place there
    beside the fixtures; GeometryError when a fixture is to be flipped.
    """
    if any(item.reversed_count for item in fixed):
        raise GeometryError.because("GEO-052", "what lies on every sheet upright is to be flipped")
    kinds = kinds_of(items, rotation, fixed)
    for kind in kinds:
        if not fits([kind], [1], sheet.width, sheet.height):
            name = "what lies on every sheet" if kind.fixed else f"shape {kind.item + 1}"
            what = f"{name} does not fit a sheet of {sheet.width:.2f} x {sheet.height:.2f} mm"
            raise OutputError.because("CUT-030", what, "Ask for a smaller size, or use a larger sheet")
    solver = Solver(kinds, sheet, gap, BUDGETS[effort], seed, block_spots(kinds, drawn) if drawn else None)
    best = solver.most_blocks()
    per_block = 1
    if not best.blocks:
        one_block = _mixed(solver, 1, None)
        per_block = len(one_block)
        laid = one_block if blocks is None or blocks == 1 else _several(solver, best, one_block, blocks)
    else:
        laid = _several(solver, best, [], best.blocks if blocks is None else blocks)
    return _layout(solver, best, laid, per_block, blocks or max(best.blocks, 1))


def _several(solver: Solver, best: Best, one_block: Sheets, blocks: int) -> Sheets:
    """Return the fewest sheets found for a number of blocks.

    Sheets for a few blocks, mixed as they fit, are made as often as need be and put together; for the whole
    number everything is mixed once more.
    """
    fewest: list[Sheets] = [[]]
    for number in range(1, blocks + 1):
        if number <= best.blocks:
            sheets: Sheets = [(trimmed(best.spots, solver.counts(number)), best.method)]
        elif number == 1:
            sheets = one_block
        else:
            firsts = [*([best.blocks] if best.blocks else []), *range(1, min(number // 2, MOST_GROUP) + 1)]
            sheets = min((fewest[first] + fewest[number - first] for first in firsts), key=len)
        mixing = number <= MOST_GROUP or number == blocks
        few = sum(solver.counts(number)) <= MOST_MIXED
        if mixing and few and len(sheets) > least_sheets(number, solver.bound):
            sheets = _mixed(solver, number, len(sheets)) or sheets
        fewest.append(sheets)
    return fewest[blocks]


def _mixed(solver: Solver, blocks: int, less_than: int | None) -> Sheets:
    """Return the copies for some blocks laid on sheets as they fit; on fewer than so many, else none.

    The engine may spend all its reports on it once more.
    *Errors*: OutputError (CUT-030) when a copy has room on no sheet, as there are fixtures.
    """
    counts = tuple(0 if kind.fixed else kind.demand * blocks for kind in solver.kinds)
    solver.engine.spent.work = 0
    found: Sheets = []
    most = less_than - 1 if less_than is not None else sum(counts)
    unlaid: list[int] = []
    for order in solver.orders(counts):
        limit = most if not found else len(found) - 1
        if not limit:
            break
        laid, unlaid = _on_beds(solver, order, limit)
        if not unlaid and all(solver.passes(on_sheet, "beds") for on_sheet in laid):
            found = [(on_sheet, "beds") for on_sheet in laid]
    best = len(found) if found else most + 1
    least = least_sheets(blocks, solver.bound)
    while best - 1 >= least:
        tried = _by_holes(solver, counts, best - 1) or _by_engine(solver, counts, best - 1)
        if tried is None:
            break
        found, best = tried, best - 1
    if less_than is None and not found:
        what = f"shape {solver.kinds[unlaid[0]].item + 1} has no room beside what lies on every sheet"
        raise OutputError.because("CUT-030", what, "Ask for a smaller size, or use a larger sheet")
    return found


def _by_holes(solver: Solver, counts: Sequence[int], number: int) -> Sheets | None:
    """Return all copies on so many sheets of beds, with what these lack in holes of all of them; or None."""
    for order in solver.orders(counts):
        laid, _ = _on_beds(solver, order, number, whole=False)
        have = Counter(spot.kind for spots in laid for spot in spots)
        left = [count - have[n] if count else 0 for n, count in enumerate(counts)]
        lacking = sum(area * count for area, count in zip(solver.grown, left, strict=True))
        if not laid or lacking > LACKING * solver.sheet.width * solver.sheet.height:
            continue
        sheets: Sheets = []
        for spots in laid:
            patched, left = solver.holes.added(spots, left)
            sheets.append((patched, "beds" if len(patched) == len(spots) else "beds and holes"))
        if not any(left) and all(solver.passes(spots, method) for spots, method in sheets):
            return sheets
    return None


def _on_beds(
    solver: Solver, order: Sequence[tuple[int, int]], most: int, *, whole: bool = True
) -> tuple[list[tuple[Spot, ...]], list[int]]:
    """Return copies on beds on sheets, each with the fixtures, and the kinds of which some are left."""
    free = [Place(0, 0.0, 0.0, solver.sheet.width, solver.sheet.height)]
    needs = [(kind.number, kind.demand) for kind in solver.kinds if kind.fixed]
    (fixtures,), _, free, _ = fill(solver.patterns, needs, free)
    places = [place._replace(sheet=n) for n in range(most) for place in free]
    filled = fill(solver.patterns, order, places, whole=whole)
    used = [(*fixtures, *on_sheet) for on_sheet in filled.spots if on_sheet]
    return used, [kind for (kind, _), number in zip(order, filled.left, strict=True) if number]


def _by_engine(solver: Solver, counts: Sequence[int], number: int) -> Sheets | None:
    """Return all copies on so many sheets, each laid by the engine; large copies go to the emptiest first."""
    loads = [0.0] * number
    shares = [[kind.demand if kind.fixed else 0 for kind in solver.kinds] for _ in range(number)]
    for kind in sorted(solver.kinds, key=lambda kind: (-kind.area, kind.number)):
        for _ in range(counts[kind.number]):
            least = min(range(number), key=lambda n: (round(loads[n], 6), n))
            loads[least] += kind.area
            shares[least][kind.number] += 1
    place = Place(0, 0.0, 0.0, solver.sheet.width, solver.sheet.height)
    found: Sheets = []
    known: dict[tuple[int, ...], tuple[Spot, ...]] = {}
    for share in map(tuple, shares):
        if share not in known:
            spots = solver.engine.laid(share, place)
            if spots is None or not solver.passes(spots, "engine"):
                return None
            known[share] = spots
        found.append((known[share], "engine"))
    return found


def _layout(solver: Solver, best: Best, laid: Sheets, per_block: int, blocks: int) -> Layout:
    kinds = solver.kinds
    counted = [Counter(spot.kind for spot in spots) for spots, _ in (laid[:-1] or laid)]
    shares = [density(kinds, [count[k.number] for k in kinds], solver.sheet) for count in counted]
    return Layout(
        sheets=tuple(_placed(kinds, spots, fixed=False) for spots, _ in laid),
        blocks=blocks,
        blocks_per_sheet=best.blocks,
        sheets_per_block=per_block,
        area_bound=whole(solver.bound),
        density=sum(shares) / len(shares),
        methods=tuple(method for _, method in laid),
        fixed=tuple(_placed(kinds, spots, fixed=True) for spots, _ in laid),
        notes=_notes(solver),
    )


def _placed(kinds: Sequence[Kind], spots: Sequence[Spot], *, fixed: bool) -> tuple[Placed, ...]:
    return tuple(
        Placed(kinds[s.kind].item, kinds[s.kind].turn_and_shift(s.angle, s.at))
        for s in spots
        if kinds[s.kind].fixed == fixed
    )


def _notes(solver: Solver) -> tuple[str, ...]:
    notes, spent = [], solver.engine.spent
    if spent.failed and not spent.ran:
        notes.append("the nesting engine could not be used, so only rows and tilings were tried")
    if spent.clocks:
        notes.append("the clock ended a try of the engine, so another run may find another layout")
    if solver.rejected:
        tried = ", ".join(sorted(set(solver.rejected)))
        notes.append(f"layouts that did not keep the gap were thrown away (made by {tried})")
    return tuple(notes)
