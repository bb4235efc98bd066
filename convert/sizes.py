"""How large a block is made: the factor from the drawing to each size, and what is doubtful about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.errors import Finding, Severity, UsageError
from convert.job import Measure

if TYPE_CHECKING:
    from collections.abc import Iterable

    from convert.block.model import Block, Template
    from convert.job import Job
    from convert.reader.drawing import Drawing

AS_DRAWN: Final = "as-drawn"

_UNSIZED: Final = "READ-015"
_SIZE_DOUBTS: Final = frozenset({_UNSIZED, "READ-046"})
"""What the reader says of a drawing without a real size, and of one that seems drawn in another unit."""

NO_SIZE: Final = Finding(
    "JOB-020",
    Severity.WARNING,
    "the drawing does not say how large it is",
    "Add --size NAME=LENGTH, or --one-unit LENGTH to say how long one unit of the drawing is",
)


def scales_of(drawing: Drawing, block: Block, job: Job) -> dict[str, float]:
    """Return each size's name and the factor from the drawing to it; none when its size can't be told."""
    if job.sizes:
        measured = _measured(block, job)
        return {size.name: size.length / measured for size in job.sizes}
    return {AS_DRAWN: 1.0} if drawing.sized or job.one_unit is not None else {}


def about_size(drawing: Drawing, job: Job) -> tuple[Finding, ...]:
    """Return the reader's findings, less those about a size that the job settles, and our own about it."""
    if job.sizes:
        return tuple(finding for finding in drawing.findings if finding.code not in _SIZE_DOUBTS)
    if drawing.sized:
        return drawing.findings if job.one_unit is None else (*drawing.findings, _unused_unit(drawing))
    others = tuple(finding for finding in drawing.findings if finding.code != _UNSIZED)
    return others if job.one_unit is not None else (*others, NO_SIZE)


def _unused_unit(drawing: Drawing) -> Finding:
    what = f"the drawing states its size in {drawing.unit}, so the unit asked for was not used"
    return Finding("JOB-023", Severity.WARNING, what, "Leave --one-unit out, or ask for a --size")


def _measured(block: Block, job: Job) -> float:
    """Return the length (mm, as drawn) that the asked sizes state."""
    if job.measure is not Measure.EDGE:
        return block.width if job.measure is Measure.WIDTH else block.height
    templates: Iterable[Template] = block.templates
    if job.edge_of is not None:
        templates = [template for template in block.templates if template.label == job.edge_of]
        if not templates:
            labels = ", ".join(template.label for template in block.templates)
            what = f"the block has no template {job.edge_of}"
            raise UsageError.because("JOB-021", what, f"It has {labels}")
    longest = max((_longest_straight_edge(template) for template in templates), default=0.0)
    if longest == 0.0:
        what = f"template {job.edge_of} has no straight edge" if job.edge_of else "no edge is straight"
        raise UsageError.because("JOB-022", what, "Use --measure width or --measure height")
    return longest


def _longest_straight_edge(template: Template) -> float:
    from convert.block.edges import edge_lengths

    starts, long = edge_lengths(template)
    straight = ~template.outline.segments.is_arc[starts]
    return float(long[straight].max(initial=0.0))
