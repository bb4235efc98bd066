"""From a planar map to a finished Block: templates, labels, numbers, warnings, put together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.check import check
from convert.block.joins import wedges
from convert.block.labels import Placed, letters, nearly_behind, number_pieces, order_shapes
from convert.block.model import Block, Piece, Template
from convert.block.pieces import at_origin, faces_of, outside_outlines, trace_rings
from convert.block.plain import plain_outlines
from convert.block.symmetry import is_own_mirror
from convert.block.templates import find_shapes, near_misses
from convert.errors import Finding, Place, Severity
from convert.geometry.chain import Segments, frozen
from convert.geometry.measure import length, midpoint
from convert.geometry.plane import to_complex
from convert.geometry.pole import inner_point, inner_points
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.check import Advice
    from convert.block.congruence import Complexes
    from convert.block.model import PlanarMap
    from convert.block.pieces import Faces
    from convert.block.plain import Outlines
    from convert.block.templates import NearMiss, Shape
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.tolerance import Tolerances

ARC_SHARE = 0.2
"""Joining arcs may move an outline by this share of the tolerance that fitting them has used up already."""

NEAR_MISSES = 20
"""So many pairs of nearly equal templates are told one by one."""

FLIP = Similarity(flipped=True)


def assemble(
    planar: PlanarMap,
    tolerances: Tolerances,
    *,
    name: str,
    fabrics: Sequence[str | None],
    names: Sequence[str | None],
    page_height: float,
    fabric_names: Sequence[str | None] = (),
    repairs: tuple[Finding, ...] = (),
    remarks: tuple[Finding, ...] = (),
    advice: Advice | None = None,
) -> Block:
    """Return the block of a map with at least one face.

    `planar` stands as on the drawn page (mm, y up); `fabrics`, `names` and `fabric_names` are by face.
    `remarks` are findings that hold at every size.
    """
    planar, origin, (width, height) = at_origin(planar)
    rings = trace_rings(planar)
    faces = faces_of(rings)
    outlines = plain_outlines(rings, tolerances.fit, tolerances.fit * ARC_SHARE)
    shapes = find_shapes(faces, outlines, tolerances)
    near = near_misses(shapes, faces, outlines, tolerances)
    order, turned_over = order_shapes(shapes, faces, outlines, tolerances)
    order = nearly_behind(order, near, shapes)
    cuts = [_Cut.of(shapes[i], faces, outlines, over=turned_over[i]) for i in order]
    known = names, fabric_names or (None,) * len(faces)
    pieces, templates = _labelled(cuts, faces, tolerances, fabrics, known)
    place = [p.face for p in pieces]
    block = Block(
        name=name,
        map=planar,
        pieces=pieces,
        templates=templates,
        outside=outside_outlines(planar, rings),
        width=width,
        height=height,
        origin=origin,
        own_mirror=is_own_mirror(pieces, templates, faces.centroid[place], tolerances.shape),
        repairs=repairs,
        warnings=(),
        page_height=page_height,
    )
    remarks = (*remarks, *_nearly(block, near, order))
    return replace(block, remarks=remarks, warnings=(*remarks, *check(block, advice)))


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """A shape with its hand settled: `placement` of each member lays `outline` on it."""

    shape: Shape
    outline: Chain
    holes: tuple[Chain, ...]
    points: Complexes
    placement: tuple[Similarity, ...]

    @classmethod
    def of(cls, shape: Shape, faces: Faces, outlines: Outlines, *, over: bool) -> _Cut:
        hand = FLIP if over else Similarity()
        outline = hand.outline(outlines.chain(int(faces.outer[shape.pattern])))
        table = outline.segments
        middle = hand.points(faces.centroid[shape.pattern])
        return cls(
            shape,
            outline,
            tuple(hand.outline(outlines.chain(r)) for r in faces.holes[shape.pattern]),
            to_complex(np.concatenate((table.start, midpoint(table))) - middle),
            # A flip undoes itself.
            tuple(m.placement.after(hand) if over else m.placement for m in shape.members),
        )


def _labelled(
    cuts: list[_Cut],
    faces: Faces,
    tolerances: Tolerances,
    fabrics: Sequence[str | None],
    names: tuple[Sequence[str | None], Sequence[str | None]],
) -> tuple[tuple[Piece, ...], tuple[Template, ...]]:
    """Return the numbered pieces, template by template, and the templates."""
    rank = _numbering(cuts, faces, tolerances, fabrics)
    pieces: list[Piece] = []
    laid = []
    for cut in cuts:
        members = sorted(zip(cut.shape.members, cut.placement, strict=True), key=lambda m: rank[m[0].face])
        # The template lies as the first piece that is not reversed; that one needs no placement. Where both
        # hands are equally many, the hand of the first piece is the template's, so that the halves of a
        # mirrored block come out as one side plain and the other reversed.
        tie = 2 * sum(p.flipped for _, p in members) == len(members)
        first, base = next((m, p) for m, p in members if tie or not p.flipped)
        laid.append((members, first, base))
    templates = _templates(cuts, [base for _, _, base in laid], faces)
    for number, (template, (members, first, base)) in enumerate(zip(templates, laid, strict=True)):
        undo = base.inverse()
        for count, (member, placement) in enumerate(members, start=1):
            face = member.face
            outline, holes = faces.rings.chain(int(faces.outer[face])), faces.hole_chains(face)
            own = Similarity() if member is first else placement.after(undo)
            at = own.point(*template.at)
            if template.clearance <= 2 * member.misfit:
                at = inner_point(outline, holes)[:2]
            pieces.append(
                Piece(
                    label=f"{template.label}{count}",
                    face=face,
                    template=number,
                    reversed=own.flipped,
                    placement=own,
                    misfit=member.misfit,
                    outline=outline,
                    holes=holes,
                    half_edges=faces.half_edges(face),
                    fabric=fabrics[face],
                    name=names[0][face],
                    fabric_name=names[1][face],
                    at=at,
                    area=float(faces.area[face]),
                )
            )
    return tuple(pieces), templates


def _numbering(
    cuts: list[_Cut], faces: Faces, tolerances: Tolerances, fabrics: Sequence[str | None]
) -> dict[int, int]:
    """Return the place of each face in the block's own order."""
    template = np.zeros(len(faces), np.int64)
    turn = np.ones(len(faces), np.complex128)
    over = np.zeros(len(faces), bool)
    for number, cut in enumerate(cuts):
        rows = [m.face for m in cut.shape.members]
        template[rows] = number
        turn[rows] = [complex(p.a, p.b) for p in cut.placement]
        over[rows] = [p.flipped for p in cut.placement]
    known = {f: i for i, f in enumerate(sorted({f for f in fabrics if f is not None}))}
    fabric = np.array([-1 if f is None else known[f] for f in fabrics], np.int64)
    placed = Placed(template, turn, over, fabric)
    order = number_pieces(placed, [cut.points for cut in cuts], faces, tolerances.gap)
    return {face: place for place, face in enumerate(order.tolist())}


def _templates(cuts: list[_Cut], bases: list[Similarity], faces: Faces) -> tuple[Template, ...]:
    """Return the templates, each laid by its base."""
    outlines = [base.outline(cut.outline) for cut, base in zip(cuts, bases, strict=True)]
    holes = [tuple(base.outline(h) for h in cut.holes) for cut, base in zip(cuts, bases, strict=True)]
    deepest = inner_points(tuple(zip(outlines, holes, strict=True))).tolist()
    found = []
    for number, (cut, outline, (x, y, clearance)) in enumerate(zip(cuts, outlines, deepest, strict=True)):
        reversed_count = sum(p.flipped for p in cut.placement)
        found.append(
            Template(
                label=letters(number),
                outline=outline,
                holes=holes[number],
                count=len(cut.placement) - reversed_count,
                reversed_count=reversed_count,
                own_mirror=cut.shape.own_mirror,
                corners=corner_angles(outline),
                area=float(faces.area[cut.shape.pattern]),
                perimeter=length(outline),
                at=(x, y),
                clearance=clearance,
            )
        )
    return tuple(found)


def corner_angles(outline: Chain) -> Floats:
    """Return the interior angles (n,) at the vertices of a counter-clockwise outline, in radians."""
    out = outline.segments
    back = Segments(out.start, np.roll(out.start, 1, axis=0), -np.roll(out.bulge, 1))
    return frozen(wedges(out, back))


def _nearly(block: Block, near: tuple[NearMiss, ...], order: list[int]) -> list[Finding]:
    """Tell which templates are nearly one, the nearest first."""
    found = []
    place = {shape: i for i, shape in enumerate(order)}
    told = sorted((n.misfit, sorted((place[n.first], place[n.second]))) for n in near)
    for misfit, (first, second) in told[:NEAR_MISSES]:
        piece = next(p for p in block.pieces if p.template == second)
        what = f"Template {block.templates[second].label} is nearly {block.templates[first].label}"
        found.append(
            Finding(
                "BLOCK-061",
                Severity.NOTE,
                f"{what}: {misfit:.2f} mm apart as drawn",
                "If one shape was meant, make the two equal in the drawing",
                Place(at=block.on_page(*piece.at)),
                misfit,
            )
        )
    if len(told) > NEAR_MISSES:
        found.append(
            Finding(
                "BLOCK-061",
                Severity.NOTE,
                f"{len(told) - NEAR_MISSES} more pairs of templates are nearly equal",
                "If they were meant to be equal, make them so in the drawing",
                value=float(len(told) - NEAR_MISSES),
            )
        )
    return found
