"""Template sheets laid out for a booklet's paper, with the check squares among the templates.

Without an effort templates lie in rows, and the squares at the lower right. With one, papers are laid as
close as they go. They are cut with scissors, which take nothing away: lines that neighbours share cost
nothing and save cuts, so papers may lie edge to edge. Curves that only touch are awkward to cut apart:
where a gap costs no block, and rows no sheet, there is a gap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import TYPE_CHECKING

from convert.booklet.checks import FIVE_CM
from convert.booklet.content import Group
from convert.booklet.leaf import CAPITAL, box
from convert.booklet.model import MM_PER_POINT, SMALLEST_POINTS
from convert.booklet.templates import sheet_profile
from convert.cutting.rows import piece_sheets, sheet_yield, sheets_in_rows
from convert.cutting.sheet import Product
from convert.errors import Finding, OutputError, Severity

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.booklet.paper import Frame
    from convert.booklet.wanted import Wanted
    from convert.cutting.effort import Effort
    from convert.cutting.nest import Layout
    from convert.cutting.nested import Nested
    from convert.profile import Profile

GAP = 2.0
"""Between templates laid close, mm: about the least that scissors turn in with ease (from memory)."""
CLEAR = 2.0
"""Least free space about the check squares, mm."""
LEAST = CAPITAL * SMALLEST_POINTS * MM_PER_POINT - 5e-3
"""Labels have capitals at least as high as those of the smallest letters, but for the rounding of 1.8 mm."""


Closer = tuple["Nested", float]
"""A close layout, and the gap in it."""
Known = dict[Product, Closer | None]
"""Close layouts of one size found for one paper, for another one with the same room."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The sheets of one size, what is to be told of them, and the close layouts that were looked for."""

    groups: tuple[Group, ...]
    findings: tuple[Finding, ...]
    known: Known


def lay(block: Block, size: str, page: Frame, wanted: Wanted, known: Known) -> Laid:
    """Return the sheets of one size, product after product; those too large for the paper are left out."""
    groups: list[Group] = []
    findings: list[Finding] = []
    known = dict(known)
    for product in wanted.cut.products:
        try:
            group, found = _group(block, size, page, wanted, product, known)
        except OutputError as error:
            findings += [_left_out(size, finding) for finding in error.findings]
            continue
        groups.append(group)
        findings += found
    return Laid(tuple(groups), tuple(findings), known)


def _group(
    block: Block, size: str, page: Frame, wanted: Wanted, product: Product, known: Known
) -> tuple[Group, list[Finding]]:
    profile = sheet_profile(page)
    taken = (FIVE_CM + profile.gap, FIVE_CM + profile.gap)
    blocks = 1
    if product is Product.FINISHED:
        blocks = max(sheet_yield(block, profile, wanted.cut, taken).blocks_per_sheet, 1)
    in_rows = sheets_in_rows(block, profile, product, wanted.cut, blocks, taken)
    findings: list[Finding] = []
    closer = None
    # Of windows one of each is enough.
    if wanted.effort and (in_rows > 1 or product is not Product.WINDOW):
        if product not in known:
            known[product] = _closer(block, profile, wanted, product, wanted.effort)
        closer = known[product]
    if closer is not None:
        nested, gap = closer
        findings += [
            Finding("CUT-042", Severity.NOTE, f"template pages of size {size}: {note}")
            for note in nested.layout.notes
        ]
        if len(nested.loads) * blocks < in_rows * nested.layout.blocks:
            blocks, profile = nested.layout.blocks, replace(profile, gap=gap)
        else:
            closer = None
        # Rows as close as that may need no more sheets, and are neater.
        if closer and sheets_in_rows(block, profile, product, wanted.cut, blocks, taken) <= len(nested.loads):
            closer = None
    sheets = piece_sheets(
        block,
        profile,
        wanted.facing,
        size=size,
        blocks=blocks,
        product=product,
        choices=wanted.cut,
        marks=wanted.marks,
        nested=closer[0] if closer else None,
        taken=taken,
        least_label=LEAST,
    )
    corner = (profile.margins.left, profile.margins.bottom)
    if closer is None:
        squares = [(profile.width - profile.margins.right - FIVE_CM, corner[1])] * len(sheets)
    else:
        squares = _squares(closer[0].layout, corner, profile.gap)
    # What has no label of its own has one beside it, or is listed, on the page.
    findings += [f for sheet in sheets for f in sheet.findings if f.code != "CUT-003"]
    return Group(sheets, tuple(squares), profile.gap), findings


def _closer(
    block: Block, profile: Profile, wanted: Wanted, product: Product, effort: Effort
) -> Closer | None:
    """Return the closest layout; if one with a gap is as good, that one."""
    from convert.cutting.nested import nested

    found: Closer | None = None
    hopes = {gap: _hope(block, profile, gap) for gap in (0.0, GAP)}
    straight = all(not t.outline.bulge.any() for t in block.templates)
    # A gap that may well cost nothing is tried first: then nothing without one can be better.
    gaps = (GAP, 0.0) if hopes[GAP] == hopes[0.0] and not straight else (0.0, GAP)
    for gap in gaps if product is Product.FINISHED else (GAP,):
        if found is not None:
            # Straight sides that lie on each other in rows are cut at one go.
            neat = straight and not any("engine" in method for method in found[0].layout.methods)
            more = _per_sheet(found[0]) + (1e-9 if gap == 0.0 else -1e-9)
            if neat or hopes[gap] < more:
                break
        side = FIVE_CM + 2.0 * max(CLEAR - gap, 0.0)
        try:
            tried = nested(
                block,
                replace(profile, gap=gap),
                effort,
                wanted.facing,
                blocks=None,
                product=product,
                choices=wanted.cut,
                fixed=[box(0.0, 0.0, side, side)],
            )
        except OutputError:
            # A shape has room in no place beside the squares but the one that rows found.
            continue
        if found is None or (_per_sheet(tried), gap) >= (_per_sheet(found[0]), found[1]):
            found = tried, gap
    return found


def _per_sheet(nested: Nested) -> float:
    return nested.layout.blocks / len(nested.loads)


def _hope(block: Block, profile: Profile, gap: float) -> float:
    """Return the most blocks a sheet that area leaves hope for; less than 1 where a block needs several.

    *Source*: shapes grown by half the gap don't overlap.
    """
    grown = sum((t.area + 0.5 * gap * t.perimeter) * (t.count + t.reversed_count) for t in block.templates)
    margins = profile.margins
    width = profile.width - margins.left - margins.right + gap
    height = profile.height - margins.top - margins.bottom + gap
    share = (width * height - (FIVE_CM + 2.0 * max(CLEAR - gap, 0.0) + gap) ** 2) / grown
    return floor(share + 1e-9) if share >= 1.0 else 1.0 / ceil(1.0 / share - 1e-9)


def _squares(layout: Layout, corner: tuple[float, float], gap: float) -> list[tuple[float, float]]:
    """Return the lower left corners of the check squares on the page."""
    inside = max(CLEAR - gap, 0.0)
    places = [fixed[0].placement for fixed in layout.fixed]
    return [(corner[0] + place.dx + inside, corner[1] + place.dy + inside) for place in places]


def _left_out(size: str, finding: Finding) -> Finding:
    """Return what is told when a size's shapes don't fit the booklet's pages."""
    return Finding(
        "CUT-041",
        Severity.WARNING,
        f"size {size}: {finding.what}, so the booklet has no sheets of these shapes",
        "Take them from the SVG or DXF files, ask for a smaller size, or split the piece with a seam",
        value=finding.value,
    )
