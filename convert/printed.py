"""What is printed of one drawing: its booklet on each paper asked for, and pictures of its colourways."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from convert.beside import Beside
    from convert.block.model import Block
    from convert.booklet.lay import Known
    from convert.booklet.model import Booklet
    from convert.errors import Finding
    from convert.job import Job
    from convert.output import Staging
    from convert.proof import Proof

PICTURES = "colourways"
"""The folder of the colourways' pictures."""


@dataclass(frozen=True, slots=True, eq=False)
class Printed:
    """The proof of the booklets, what a maker should know of them, and what the manifest says."""

    proof: Proof
    findings: tuple[Finding, ...]
    manifest: dict[str, Any]


def write_printed(
    staged: Staging, block: Block, sizes: list[tuple[str, Block]], job: Job, beside: Beside
) -> Printed:
    """Write booklets and pictures, read each booklet back, and say what was made.

    `block` is the block as drawn; `sizes` are its finished sizes with their names, some laid `beside`.
    *Errors*: ProfileError when a colourway names a cloth that the block hasn't got; OutputError when a
    cloth shape is wider than the cloth.
    """
    from convert.proof import Proof

    told: dict[str, Any] = {}
    if job.palette.wishes or job.palette.names:
        told["colourways"] = _write_pictures(staged, block, job)
    proofs: list[Proof] = []
    findings: list[Finding] = []
    if "pdf" in job.formats:
        told["booklets"] = []
        known: dict[str, Known] = {}
        for paper in job.papers:
            proof, found, entry = _write_booklet(staged, block, sizes, job, paper, known, beside)
            proofs.append(proof)
            findings += [finding for finding in found if finding not in findings]
            told["booklets"].append(entry)
    return Printed(Proof.together(proofs), tuple(findings), told)


def _write_booklet(
    staged: Staging,
    block: Block,
    sizes: list[tuple[str, Block]],
    job: Job,
    paper: str,
    known: dict[str, Known],
    beside: Beside,
) -> tuple[Proof, tuple[Finding, ...], dict[str, Any]]:
    from convert.booklet import booklet
    from convert.booklet.prepare import prepare
    from convert.booklet.templates import sheet_profile
    from convert.booklet.wanted import Wanted
    from convert.cautions import BY_TOOL, GENERAL
    from convert.profile import Tool
    from convert.proof.booklet import prove_booklet
    from convert.writers.pdf import pdf_bytes, typeface

    wanted = Wanted(
        paper=paper,
        safe=len(job.papers) > 1,
        title=job.title,
        author=job.author,
        palette=job.palette,
        cloth_width=job.cloth_width,
        blocks=job.blocks or 1,
        facing=job.facing,
        cut=job.cut,
        marks=job.marks,
        effort=job.effort,
    )
    cautions = (("Blades", BY_TOOL[Tool.SCISSORS]), ("Machines", GENERAL))
    content, findings = prepare(block, sizes, wanted, cautions, typeface(), known, beside)
    pages = booklet(content)
    name = f"booklet-{paper}.pdf"
    written = staged.write(name, pdf_bytes(pages))
    proof = prove_booklet(written.read_bytes(), pages, sheet_profile(content.frame), job.cut, file=name)
    return proof, findings, _entry(name, paper, pages, findings)


def _entry(name: str, paper: str, pages: Booklet, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """Return what the manifest says of a booklet."""
    return {
        "file": name,
        "paper": paper,
        "pages": len(pages.pages),
        "sheets": [
            {
                "page": number,
                "name": page.sheet.name,
                "size": page.size,
                "number": page.sheet.number,
                "of": page.sheet.of,
                "blocks": page.sheet.blocks,
            }
            for number, page in enumerate(pages.pages, start=1)
            if page.sheet is not None
        ],
        "warnings": [{"code": f.code, "what": f.what, "advice": f.advice} for f in findings],
    }


def _write_pictures(staged: Staging, block: Block, job: Job) -> list[dict[str, Any]]:
    from convert.colourways import colourways_of
    from convert.writers.picture import picture_bytes

    told = []
    for way in colourways_of(block, job.palette):
        name = f"{PICTURES}/{way.name}.svg"
        staged.write(name, picture_bytes(block, f"{job.title or block.name}, {way.name}", way.colours))
        told.append({"name": way.name, "file": name, "colours": dict(sorted(_named(way.colours).items()))})
    return told


def _named(colours: Any) -> dict[str, str]:  # noqa: ANN401 (a mapping; None stands for no colour)
    return {"none" if drawn is None else drawn: shown for drawn, shown in colours.items()}
