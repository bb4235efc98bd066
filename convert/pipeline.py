"""One job from drawing to files; the only place that knows all the stages.

A **plan** is everything that would be made, before any of it is written: `inspect` shows one,
`convert` writes one, reads every file back, and only then moves the files into place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from convert.beside import Beside
from convert.errors import DrawingError, Finding, ProofError, Severity, UsageError
from convert.remarks import once, together
from convert.sizes import NO_SIZE, about_size, scales_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from convert.block.check import Advice
    from convert.block.model import Block
    from convert.cutting.nested import Nested
    from convert.cutting.rows import Yield
    from convert.cutting.sheet import Product, Sheet
    from convert.job import Job
    from convert.output import Published, Staging
    from convert.printed import Printed
    from convert.profile import Profile
    from convert.proof import Proof
    from convert.reader.drawing import Drawing

FIT_LIMIT_MM: Final = 0.008
"""Farthest that fitted arcs may be from a drawn curve at the largest size; what is promised is 0.01 mm."""
_NEEDED: Final = {
    "svg": ("convert.cutting.assembled", "convert.cutting.nested", "convert.proof", "convert.writers.svg"),
    "dxf": ("convert.cutting.assembled", "convert.cutting.nested", "convert.proof", "convert.writers.dxf"),
    "pdf": ("convert.booklet.lay", "convert.cutting.nested"),
}
"""What a second process is given to import while the drawing is read, by the last format of sheets."""


@dataclass(frozen=True, slots=True, eq=False)
class PlannedSize:
    """One finished size: the block at it and its sheets, all of one arrangement together.

    `scale` is the factor from the drawing to this size; `warnings` are those that hold at this size
    only; `yields` says how far a sheet goes.
    """

    name: str
    scale: float
    block: Block
    sheets: tuple[tuple[Sheet, ...], ...]
    yields: Yield
    warnings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """What one drawing becomes: the block as drawn, and each size of it.

    `noticed` is what the reader found, and what is doubtful about the size asked for.
    """

    path: Path
    drawing: Drawing
    block: Block
    job: Job
    sizes: tuple[PlannedSize, ...]
    noticed: tuple[Finding, ...]

    @property
    def settled(self) -> frozenset[str]:
        """The codes of what the reader found doubtful and the job settles."""
        left = {finding.code for finding in self.noticed}
        return frozenset(finding.code for finding in self.drawing.findings if finding.code not in left)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every remark and warning, each once and with the file it is about."""
        by_size = sorted(self.sizes, key=lambda size: size.scale)
        of_sizes = together([(size.name, size.warnings) for size in by_size])
        found = (*self.noticed, *self.block.repairs, *self.block.remarks, *of_sizes)
        return tuple(_about(finding, self.path) for finding in found)


@dataclass(frozen=True, slots=True, eq=False)
class Converted:
    """One drawing done: its plan, the proof of its files, and what was put where."""

    plan: Plan
    proof: Proof
    published: Published
    printed: Printed

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that a person should read."""
        of_booklets = tuple(_about(finding, self.plan.path) for finding in self.printed.findings)
        return once((*self.plan.findings, *of_booklets, *self.published.findings))


def convert_drawing(path: Path, job: Job, out: Path, *, force: bool = False) -> Converted:
    """Convert one drawing and put its files into `out`/<drawing's name>.

    *Errors*: PiecewrightError of the stage that gave up; nothing is written then, and what an earlier
    run wrote is as it was.
    """
    from convert.output import MANIFEST, staging
    from convert.printed import write_printed
    from convert.proof import Proof
    from convert.writers.manifest import json_bytes

    # The other process ends first: it must not write where everything has been cleaned up already.
    with staging(out, path.stem, path, force=force) as staged, Beside() as beside:
        if job.effort is not None and len(job.sizes) > 1:
            beside.begin(_NEEDED[(job.sheet_formats or job.formats)[-1]])
        # Without sheets there is next to nothing to plan.
        plan = plan_drawing(path, job, beside=beside if job.sheet_formats else None)
        # Format after format, so that one process seldom has to import what the other's format needs.
        tasks = [(staged, size, kind, job) for kind in job.sheet_formats for size in plan.sizes]
        written = beside.each(_write_size, tasks)
        staged.add(*(hashes for _, hashes in written))
        sizes = [(size.name, size.block) for size in plan.sizes]
        printed = write_printed(staged, plan.block, sizes, job, beside)
        proof = Proof.together((*(proof for proof, _ in written), printed.proof))
        if not proof.passed:
            raise ProofError(*(_about(finding, path) for finding in proof.findings))
        values = manifest_of(plan, proof, staged.hashes) | printed.manifest
        staged.write(MANIFEST, json_bytes(values))
        return Converted(plan, proof, staged.publish(), printed)


def plan_drawing(path: Path, job: Job, *, size_needed: bool = True, beside: Beside | None = None) -> Plan:
    """Return what a drawing becomes, without writing anything; some sizes may be planned `beside`.

    When nobody says how large it is to be, neither the job nor the drawing, that is an error if
    `size_needed`; otherwise the plan has no sizes, and a warning says why.
    *Errors*: DrawingError when it can't be read or pieced, UsageError when its size can't be told.
    """
    drawing, block = _read(path, job, None)
    scales = scales_of(drawing, block, job)
    if size_needed and not scales:
        raise UsageError(replace(NO_SIZE, severity=Severity.ERROR))
    largest = max(scales.values(), default=1.0)
    # A drawing is read before its size is known; a large one is read again, with finer arcs.
    if drawing.fit_error > 0 and largest * drawing.fit > FIT_LIMIT_MM:
        drawing, block = _read(path, job, FIT_LIMIT_MM / largest)
        scales = scales_of(drawing, block, job)
    tasks = [(name, scale, block, job) for name, scale in scales.items()]
    sizes = (beside or Beside()).each(_plan_size, tasks)
    return Plan(path, drawing, block, job, tuple(sizes), _noticed(drawing, job))


def seen_in(path: Path, job: Job) -> Drawing | None:
    """Return what a drawing shows, be it of use or not; None when it can't be read."""
    from convert.reader import read_drawing

    try:
        return read_drawing(path, unit_mm=job.one_unit, only=job.only, skip=job.skip)
    except DrawingError:
        return None


def _read(path: Path, job: Job, fit: float | None) -> tuple[Drawing, Block]:
    from convert.block import make_block, usual_tolerances
    from convert.reader import read_drawing

    drawing = read_drawing(path, unit_mm=job.one_unit, fit=fit, only=job.only, skip=job.skip)
    tolerances = usual_tolerances(drawing)
    if job.gap is not None:
        tolerances = replace(tolerances, gap=job.gap)
    try:
        return drawing, make_block(drawing, tolerances, _advice(job.profile), job.choices)
    except DrawingError as error:
        # What the reader noticed is often why nothing could be pieced.
        raise DrawingError(*once((*drawing.findings, *error.findings))) from error


def _advice(profile: Profile) -> Advice:
    """Return when to warn: the profile's limits, and the milder and graver ones in proportion."""
    from convert.block.check import Advice

    usual, asked = Advice(), profile.advice
    corner, edge = asked.sharp_corner_deg / usual.sharp_deg, asked.short_edge / usual.short_edge
    return replace(
        usual,
        remark_deg=corner * usual.remark_deg,
        sharp_deg=asked.sharp_corner_deg,
        very_sharp_deg=min(usual.very_sharp_deg, asked.sharp_corner_deg),
        too_sharp_deg=min(usual.too_sharp_deg, asked.sharp_corner_deg),
        short_edge=asked.short_edge,
        very_short_edge=edge * usual.very_short_edge,
        faulty_edge=min(usual.faulty_edge, edge * usual.very_short_edge),
        narrow=asked.small_piece,
        outward_radius=asked.tight_curve,
        inward_radius=asked.tight_curve / usual.outward_radius * usual.inward_radius,
    )


def _plan_size(name: str, scale: float, block: Block, job: Job) -> PlannedSize:
    from convert.block.scale import scaled
    from convert.cutting.assembled import assembled_sheet
    from convert.cutting.limits import too_small
    from convert.cutting.machine import for_machine
    from convert.cutting.rows import Yield, better_yield, piece_sheets, sheet_yield, sheets_in_rows
    from convert.cutting.sheet import Arrangement, Product

    profile = job.profile
    sized = scaled(block, scale, _advice(profile))
    sheets: list[tuple[Sheet, ...]] = []
    # A block that is cut whole takes one sheet, or none of the profile's if it is larger than that.
    fits = sized.width <= profile.width and sized.height <= profile.height
    yields = Yield(profile.name, int(fits), 1)
    notes: tuple[str, ...] = ()
    for arrangement in job.arrangements:
        if arrangement is Arrangement.PIECES:
            yields = sheet_yield(sized, profile, job.cut)
            for product in job.cut.products:
                closer, blocks = _closer(sized, job, product), job.blocks or 1
                if closer is not None:
                    blocks, notes = closer.layout.blocks, (*notes, *closer.layout.notes)
                    if product is Product.FINISHED:
                        yields = better_yield(yields, closer.layout)
                    # Rows are neater: they stay where a closer layout saves no sheet.
                    if sheets_in_rows(sized, profile, product, job.cut, blocks) <= len(closer.loads):
                        closer = None
                made = piece_sheets(
                    sized,
                    profile,
                    job.product_facing(product),
                    size=name,
                    blocks=blocks,
                    product=product,
                    choices=job.cut,
                    marks=job.marks,
                    nested=closer,
                )
                sheets.append(made)
        else:
            whole = assembled_sheet(sized, profile, job.assembled_facing, size=name, marks=job.marks)
            sheets.append((whole,))
    ready = tuple(tuple(for_machine(sheet, profile) for sheet in group) for group in sheets)
    own = [finding for finding in sized.warnings if finding not in sized.remarks]
    of_sheets = [finding for group in ready for sheet in group for finding in sheet.findings]
    of_layouts = [Finding("CUT-042", Severity.NOTE, note) for note in notes]
    warnings = once((*own, *too_small(sized, job.cut, profile), *of_layouts, *of_sheets))
    return PlannedSize(name, scale, sized, ready, yields, warnings)


def _closer(sized: Block, job: Job, product: Product) -> Nested | None:
    """Return the layout of a product's shapes that is closer than rows, where one is asked for."""
    if job.effort is None or not job.sheet_formats:
        return None
    from convert.cutting.nested import nested

    facing = job.product_facing(product)
    return nested(sized, job.profile, job.effort, facing, blocks=job.blocks, product=product, choices=job.cut)


def _noticed(drawing: Drawing, job: Job) -> tuple[Finding, ...]:
    """Return the reader's findings, less those that the job settles, and our own about what is asked for."""
    return (*about_size(drawing, job), *([_idle(job.idle)] if job.idle else []))


def _idle(options: tuple[str, ...]) -> Finding:
    many = len(options) > 1
    names = f"{', '.join(options[:-1])} and {options[-1]}" if many else options[0]
    what = f"{names} {'are' if many else 'is'} for the booklet, and none is asked for"
    advice = f"Add pdf to --formats, or leave {'them' if many else 'it'} out"
    return Finding("JOB-024", Severity.WARNING, what, advice)


def manifest_of(
    plan: Plan, proof: Proof | None = None, hashes: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """Return the manifest of a plan, with the proof and the hashes of its files once there are any.

    What was noticed about the drawing stands among the warnings: to the maker it is all one.
    """
    from convert import __version__, account
    from convert.cautions import cautions
    from convert.cutting.machine import sheet_work
    from convert.proof import Proof
    from convert.writers.manifest import MadeSize, WrittenSheet, manifest

    job = plan.job
    sizes = [
        MadeSize(
            size.name,
            size.block,
            size.yields,
            tuple(
                WrittenSheet(
                    sheet,
                    job.profile.name,
                    tuple(file_name(size.name, sheet, kind, job.profile) for kind in job.sheet_formats),
                    sheet_work(sheet, job.profile),
                )
                for group in size.sheets
                for sheet in group
            ),
        )
        for size in plan.sizes
    ]
    block = replace(plan.block, warnings=(*plan.noticed, *plan.block.warnings))
    source = (plan.path.name, plan.drawing.sha256)
    values = manifest(source, job.options(), block, sizes, proof or Proof(0, 0.0, ()))
    values["drawing"] = account.values(plan.drawing, plan.block.remarks, plan.settled)
    values["cautions"] = list(cautions(job.profile.tool))
    values["program"] = {"name": "piecewright", "version": __version__}
    if proof is None or hashes is None:
        del values["proof"]
    else:
        values["files"] = [{"path": name, "sha256": digest} for name, digest in sorted(hashes.items())]
    return values


def _write_size(staged: Staging, size: PlannedSize, kind: str, job: Job) -> tuple[Proof, dict[str, str]]:
    """Write every file of one size and format, and read each back from where it was written.

    Returned are the proof, and the hashes of what is staged.
    """
    from convert.proof import Proof, prove_set

    proofs = []
    for sheets in size.sheets:
        files = []
        for sheet in sheets:
            name = file_name(size.name, sheet, kind, job.profile)
            written = staged.write(name, _bytes(kind)(sheet, job.profile))
            files.append((written.read_bytes(), name))
        proofs.append(prove_set(files, kind, sheets, size.block, job.profile, job.cut))
    return Proof.together(proofs), staged.hashes


def file_name(size: str, sheet: Sheet, kind: str, profile: Profile) -> str:
    """Return a file's path in the drawing's folder; a DXF names its unit, which its readers often ignore."""
    unit = f"-{profile.dxf.unit}" if kind == "dxf" else ""
    return f"{size}/{sheet.name}{unit}.{kind}"


def _bytes(kind: str) -> Callable[[Sheet, Profile], bytes]:
    if kind == "svg":
        from convert.writers.svg import svg_bytes

        return svg_bytes
    from convert.writers.dxf import dxf_bytes

    return dxf_bytes


def _about(finding: Finding, path: Path) -> Finding:
    if finding.place.file is not None:
        return finding
    return replace(finding, place=replace(finding.place, file=str(path)))
