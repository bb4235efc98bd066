"""The parts of each product: papers, cloth shapes, window templates.

Papers are the finished outline. Cloth shapes are what cloth is cut by: the ring alone, with an arrow
along the grain, but without the seam line, as cloth cut by them is basted over a paper. Window
templates are tools: the ring and, as its opening, the finished outline.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import atan2, cos, degrees, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.extras import (
    JUNCTION_MM,
    centre_lines,
    grain_arrow,
    off_marks,
    removal_hole,
    with_corner_holes,
    words_circle,
)
from convert.cutting.parts import Part
from convert.cutting.rings import rings
from convert.cutting.sheet import Product, Purpose, Stroke
from convert.errors import Finding, Place, Severity
from convert.geometry.measure import radius
from convert.geometry.pole import inner_points
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.block.model import Block, Template
    from convert.cutting.parts import CutChoices
    from convert.cutting.rings import Ring
    from convert.geometry.chain import Chain
    from convert.geometry.similarity import Similarity

UPRIGHT_DEG = 90.0


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """All parts of one product, in the order of their templates, and what a maker should know of them."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]


def make_parts(block: Block, product: Product, choices: CutChoices, kerf: float = 0.0) -> Parts:
    """Return the parts of `product` for one block, of finished size whatever tool will cut them.

    `kerf` (mm) is what the tool takes away: it decides only which small holes can be cut.
    """
    if product is Product.FINISHED:
        return _finished(block, choices)
    shapes = [(template.outline, template.holes) for template in block.templates]
    if product is Product.WINDOW:
        shapes = [(outline, ()) for outline, _ in shapes]
    found = rings(shapes, choices.allowance_mm)
    if product is Product.CLOTH:
        return _cloth(block, found, choices)
    return _windows(block, found, choices, kerf)


def _finished(block: Block, choices: CutChoices) -> Parts:
    parts = []
    pierced = [removal_hole(t) if choices.removal_holes else None for t in block.templates]
    regions = [
        (t.outline, (*t.holes, hole)) for t, hole in zip(block.templates, pierced, strict=True) if hole
    ]
    free = iter(inner_points(regions).tolist())
    pieces = _pieces_of(block)
    for number, (template, hole) in enumerate(zip(block.templates, pierced, strict=True)):
        x, y, clearance = next(free) if hole else (*template.at, template.clearance)
        inner = (*template.holes, hole) if hole else template.holes
        parts.append(
            Part(
                Product.FINISHED,
                number,
                template.label,
                *pieces[number],
                template.outline,
                _strokes(template.outline, inner),
                (x, y),
                clearance,
            )
        )
    without = [t.label for t, hole in zip(block.templates, pierced, strict=True) if not hole]
    return Parts(
        tuple(parts), _left_out("CUT-018", "a removal hole", without) if choices.removal_holes else ()
    )


def _strokes(outer: Chain, inner: Sequence[Chain], marks: Sequence[Chain] = ()) -> tuple[Stroke, ...]:
    """Return strokes in the order of their doing: marks, inner cuts, the outer cut."""
    return (
        *(Stroke(chain, Purpose.MARK) for chain in marks),
        *(Stroke(chain, Purpose.INNER) for chain in inner),
        Stroke(outer, Purpose.OUTER),
    )


def _cloth(block: Block, found: Sequence[Ring], choices: CutChoices) -> Parts:
    grain = radians(UPRIGHT_DEG if choices.grain_deg is None else choices.grain_deg)
    turns = _grains(block, grain)
    beside = inner_points([(t.outline, (*t.holes, words_circle(t))) for t in block.templates]).tolist()
    parts, without = [], []
    for number, (template, ring) in enumerate(zip(block.templates, found, strict=True)):
        for angle, (pieces, reversed_pieces) in turns[number]:
            arrow = grain_arrow(template, (beside[number][0], beside[number][1]), angle)
            if arrow is None:
                without.append(template.label)
            marks, clearance = arrow or ((), template.clearance)
            parts.append(
                Part(
                    Product.CLOTH,
                    number,
                    template.label,
                    tuple(pieces),
                    tuple(reversed_pieces),
                    ring.outer,
                    _strokes(ring.outer, ring.holes, marks),
                    template.at,
                    clearance,
                )
            )
    findings = [f for n, ring in enumerate(found) for f in _about_ring(block, n, ring, choices.allowance_mm)]
    return Parts(tuple(parts), (*findings, *_left_out("CUT-018", "a grain arrow", without)))


def _pieces_of(block: Block) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Return for each template the numbers of its pieces: those cut as it is, and those flipped over."""
    found: list[tuple[list[int], list[int]]] = [([], []) for _ in block.templates]
    for number, piece in enumerate(block.pieces):
        found[piece.template][piece.reversed].append(number)
    return [(tuple(plain), tuple(flipped)) for plain, flipped in found]


def _grains(block: Block, grain: float) -> list[list[tuple[float, tuple[list[int], list[int]]]]]:
    """Return for each template the directions of the grain on it, with the plain and the reversed pieces.

    A piece's cloth lies in the block as its template does after its turn, so the pieces of one
    template may each have the grain elsewhere; those within half a degree share a direction.
    """
    found: list[dict[int, tuple[float, tuple[list[int], list[int]]]]] = [{} for _ in block.templates]
    for number, piece in enumerate(block.pieces):
        angle = _back(piece.placement, grain)
        key = round(degrees(angle)) % 180
        _, pieces = found[piece.template].setdefault(key, (angle, ([], [])))
        pieces[piece.reversed].append(number)
    return [list(directions.values()) for directions in found]


def _back(placement: Similarity, angle: float) -> float:
    """Return the direction (0 to pi) on a template that lies along `angle` in the block."""
    back = placement.inverse()
    x, y = back.point(cos(angle), sin(angle))
    x0, y0 = back.point(0.0, 0.0)
    return atan2(y - y0, x - x0) % pi


def _windows(block: Block, found: Sequence[Ring], choices: CutChoices, kerf: float) -> Parts:
    parts, openings, without = [], [], []
    findings: list[Finding] = []
    for template in block.templates:
        opening, missing = template.outline, 0
        if choices.junction_holes:
            opening, missing = with_corner_holes(opening, template.corners, choices.allowance_mm, kerf)
        if missing:
            without.append(template.label)
        openings.append(opening)
    free = inner_points(
        [(ring.outer, (opening,)) for ring, opening in zip(found, openings, strict=True)]
    ).tolist()
    for number, (template, ring) in enumerate(zip(block.templates, found, strict=True)):
        marks = centre_lines(template.outline, openings[number], ring.outer) if choices.centre_lines else ()
        x, y, clearance = free[number]
        if marks:
            x, y, clearance = off_marks((x, y), template.outline, (ring.outer, openings[number]), marks)
        parts.append(
            Part(
                Product.WINDOW,
                number,
                template.label,
                (),
                (),
                ring.outer,
                _strokes(ring.outer, (openings[number],), marks),
                (x, y),
                clearance,
            )
        )
        findings += _about_ring(block, number, ring, choices.allowance_mm)
        if template.holes:
            what = f"the window template of {template.label} shows its outline without the hole in it"
            findings.append(Finding("CUT-015", Severity.NOTE, what))
    return Parts(
        tuple(parts), (*findings, *_left_out("CUT-018", f"all holes of {JUNCTION_MM:g} mm", without))
    )


def _about_ring(block: Block, number: int, ring: Ring, allowance: float) -> Iterator[Finding]:
    """Yield what a maker should know about the allowance round one template."""
    template = block.templates[number]
    wide = format_mm(allowance)
    table = template.outline.segments
    curved = ring.swallowed & (template.outline.bulge < 0.0)
    curved[curved] = radius(table)[curved] <= allowance * (1.0 + 1e-9)
    if curved.any():
        row = int(np.flatnonzero(curved)[np.argmin(radius(table)[curved])])
        tight = float(radius(table)[row])
        yield Finding(
            "CUT-011",
            Severity.WARNING,
            f"the hollow curve of {template.label} has a radius of {format_mm(tight)}: the allowance of "
            f"{wide} fills it, so the cloth has no curve to follow there",
            "Use a smaller allowance or a wider curve, and clip the cloth close to the paper",
            _place(block, template, number, row),
            tight,
        )
    elif ring.swallowed.any():
        row = int(np.flatnonzero(ring.swallowed)[0])
        yield Finding(
            "CUT-012",
            Severity.WARNING,
            f"a hollow of {template.label} is too narrow for the allowance of {wide} on both sides: it is "
            "filled",
            "Use a smaller allowance, or split the piece with a seam",
            _place(block, template, number, row),
            allowance,
        )
    if len(ring.holes) < len(template.holes):
        yield Finding(
            "CUT-014",
            Severity.WARNING,
            f"a hole of {template.label} is too narrow for the allowance of {wide} on all sides: its cloth "
            "has none",
            "Slit the cloth there by hand, or use a smaller allowance",
            value=allowance,
        )
    if 0.0 < template.clearance < allowance:
        yield Finding(
            "CUT-013",
            Severity.NOTE,
            f"the allowance of {wide} is wider than half of {template.label}: it overlaps itself on the back",
            "Use a smaller allowance if the piece gets too thick",
            value=template.clearance,
        )


def _place(block: Block, template: Template, number: int, row: int) -> Place:
    """Return where the start of a template's segment lies in the drawing, on its first piece."""
    piece = next(piece for piece in block.pieces if piece.template == number)
    return Place(at=block.on_page(*piece.placement.point(*template.outline.points[row].tolist())))


def _left_out(code: str, thing: str, labels: Sequence[str]) -> tuple[Finding, ...]:
    """Return the finding that some templates have no room for `thing`, or nothing."""
    if not labels:
        return ()
    names = list(Counter(labels))
    shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
    return (Finding(code, Severity.NOTE, f"no room for {thing} in {shown}", value=float(len(names))),)
