"""From blocks to a booklet's content: template sheets laid out for its paper, and everything to be told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.beside import Beside
from convert.booklet.content import Content, MadeSize
from convert.booklet.lay import lay
from convert.booklet.paper import frame
from convert.colourways import colourways_of, fabrics_of
from convert.errors import Finding, Severity
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.lay import Known
    from convert.booklet.model import Typeface
    from convert.booklet.wanted import Wanted

USUAL_ALLOWANCE = MM_PER_INCH / 4.0
"""The cloth beyond the seam line when nobody says otherwise (common practice)."""
UPRIGHT = 90.0


def prepare(
    block: Block,
    sizes: Sequence[tuple[str, Block]],
    wanted: Wanted,
    cautions: Sequence[tuple[str, str]],
    typeface: Typeface,
    known: dict[str, Known] | None = None,
    beside: Beside | None = None,
) -> tuple[Content, tuple[Finding, ...]]:
    """Return a booklet's content, and what a maker should know of its sheets.

    `block` is the block as drawn, `sizes` its finished sizes with their names; `known` are layouts by size
    that booklets on several papers share. Some sizes may be laid `beside`.
    *Errors*: ProfileError when the palette names a cloth that the block hasn't got.
    """
    page = frame(wanted.paper, safe=wanted.safe)
    known = {} if known is None else known
    tasks = [(sized, name, page, wanted, known.get(name, {})) for name, sized in sizes]
    made: list[MadeSize] = []
    findings: list[Finding] = []
    for (name, sized), laid in zip(sizes, (beside or Beside()).each(lay, tasks), strict=True):
        known[name] = laid.known
        findings += laid.findings
        made.append(MadeSize(name, sized, laid.groups, sized.warnings))
    content = Content(
        title=wanted.title or _title(block.name),
        author=wanted.author,
        frame=page,
        typeface=typeface,
        sizes=tuple(made),
        fabrics=fabrics_of(block, wanted.palette),
        colourways=colourways_of(block, wanted.palette),
        cautions=tuple(cautions),
        allowance=wanted.cut.allowance_mm or USUAL_ALLOWANCE,
        cloth_width=wanted.cloth_width,
        grain_deg=UPRIGHT if wanted.cut.grain_deg is None else wanted.cut.grain_deg,
        blocks=wanted.blocks,
        seam_numbers=wanted.marks.seam_numbers,
        effort=wanted.effort,
    )
    findings += _unprintable(content)
    return content, tuple(dict.fromkeys(findings))


def _unprintable(content: Content) -> list[Finding]:
    """Return what is told of words with letters that can't be printed, all in one."""
    words = [
        ("the title", content.title),
        ("the author", content.author),
        *(("the size", made.name) for made in content.sizes),
        *(("the fabric", fabric.name) for fabric in content.fabrics),
        *(("the colourway", way.name) for way in content.colourways),
    ]
    places = [
        f"{' '.join(lacking)} in {what} {text!r}"
        for what, text in words
        if (lacking := content.typeface.lacking(text))
    ]
    if not places:
        return []
    said = f"the booklet's letters lack {', '.join(places)}: question marks stand there"
    return [Finding("WRITE-004", Severity.WARNING, said, "Spell it otherwise", value=float(len(places)))]


def _title(name: str) -> str:
    """Return a drawing's name as a title: `river-stones` becomes `River stones`."""
    words = " ".join(name.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:] or name
