"""What the terminal is told of a drawing: what it is made of, what was made, and how far a sheet goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.block.edges import edge_lengths
from convert.cutting.machine import sheet_work
from convert.cutting.sheet import Arrangement
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.block.model import Block
    from convert.pipeline import Converted, Plan, PlannedSize


def of_conversion(converted: Converted) -> Iterator[str]:
    """Yield what `convert` prints of one drawing."""
    plan, proof = converted.plan, converted.proof
    yield _summary(plan)
    for size in plan.sizes:
        made = [name for name in converted.published.written if name.startswith(f"{size.name}/")]
        files = f"{_yield(size)}, {_count(len(made), 'file')}{_work(plan, size)}" if made else ""
        yield f"  {size.name}: {_finished(size.block)}{files}"
    for booklet in converted.printed.manifest.get("booklets", ()):
        sheets = _count(len(booklet["sheets"]), "template sheet")
        yield f"  {booklet['file']}: {_count(booklet['pages'], 'page')}, {sheets} among them"
    ways = [way["name"] for way in converted.printed.manifest.get("colourways", ())]
    if ways:
        yield f"  colourways: {', '.join(ways)}"
    deviation = format_mm(proof.largest_deviation, digits=6)
    yield f"  read back and proved: {_count(proof.checked, 'check')}, largest deviation {deviation}"
    yield f"  in {converted.published.folder}"


def _work(plan: Plan, size: PlannedSize) -> str:
    """Return what a machine has to do for one size: for separate pieces, or else for the whole block."""
    sheets = [sheet for group in size.sheets for sheet in group]
    apart = [sheet for sheet in sheets if sheet.arrangement is Arrangement.PIECES]
    works = [sheet_work(sheet, plan.job.profile) for sheet in apart or sheets]
    long = format_mm(sum(work.cut_length for work in works), digits=0)
    travel = [work.travel for work in works if work.travel is not None]
    bends = [work.smallest_bend for work in works if work.smallest_bend is not None]
    if travel:
        cuts = _count(sum(work.pierces or 0 for work in works), "cut")
        return f", {long} in {cuts}, {format_mm(sum(travel), digits=0)} between them"
    if plan.job.profile.tool.value != "die":
        return ""
    return f", {long} of rule" + (f", tightest bend {format_mm(min(bends), digits=1)}" if bends else "")


def of_plan(plan: Plan) -> Iterator[str]:
    """Yield what `inspect` prints."""
    yield _summary(plan)
    yield f"  as drawn: {_finished(plan.block)}"
    for template in plan.block.templates:
        words = str(template.count)
        if template.reversed_count:
            words += f" and {template.reversed_count} reversed"
        edges = _count(len(edge_lengths(template)[0]), "edge")
        shape = f"{edges}, {format_mm(template.perimeter, digits=1)} round"
        yield f"  template {template.label}: {words}; {shape}"
    for size in plan.sizes:
        times = "" if size.scale == 1 else f", {size.scale:.6g} times as drawn"
        yield f"  size {size.name}: {_finished(size.block)}{times}{_yield(size)}"
        for sheet in (sheet for group in size.sheets for sheet in group):
            paper = f"{format_mm(sheet.width, digits=1)} x {format_mm(sheet.height, digits=1)}"
            yield f"    {sheet.name}: {_count(len(sheet.copies), 'piece')} on {paper}"


def _yield(size: PlannedSize) -> str:
    """Return how far a sheet goes."""
    if size.yields.sheets_per_block > 1:
        return f", a block needs {size.yields.sheets_per_block} sheets"
    if size.yields.blocks_per_sheet == 0:
        return ", larger than a sheet"
    return f", a sheet can make {_count(size.yields.blocks_per_sheet, 'block')}"


def _summary(plan: Plan) -> str:
    block = plan.block
    reversed_too = sum(template.reversed_count > 0 for template in block.templates)
    words = f"{block.name}: {_count(len(block.pieces), 'piece')}, {_count(len(block.templates), 'template')}"
    return words + (f" ({reversed_too} also reversed)" if reversed_too else "")


def _finished(block: Block) -> str:
    inches = f"{format_inches(block.width)} x {format_inches(block.height)}"
    return f"{inches} ({format_mm(block.width)} x {format_mm(block.height)})"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" + ("" if number == 1 else "s")
