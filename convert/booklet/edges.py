"""The lengths of papers' edges at every size, to check a print or a cut paper with a ruler."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.block.edges import edge_lengths
from convert.booklet.leaf import GREY, SMALL, Column
from convert.geometry.measure import box
from convert.units import MM_PER_INCH, format_inches

if TYPE_CHECKING:
    from convert.block.model import Block, Template
    from convert.booklet.content import Content
    from convert.booklet.leaf import Flow

RULER = MM_PER_INCH / 32.0
"""The finest marks of an inch ruler (common practice)."""
ROW = 5.4
MOST = 80
"""Of a block with more different edges only the longest of each paper is told."""
ACROSS = 3
"""Sizes side by side."""
ALIKE = 2e-4
"""Edges whose lengths differ by less than this share of the block's width are told as one."""


@dataclass(frozen=True, slots=True)
class Edge:
    """Edges of one paper that are alike: which paper, what they are, and one's share of the block's width."""

    label: str
    what: str
    share: float


def edges_of(block: Block) -> list[Edge]:
    """Return the different edges of all papers, the longest of each paper first.

    A curved edge is measured straight from corner to corner, a round paper right across.
    """
    found = []
    for template in block.templates:
        alike: dict[tuple[int, str], list[float]] = {}
        for chord, kind in _measured(template):
            share = chord / block.width
            alike.setdefault((round(share / ALIKE), kind), []).append(share)
        found += [
            Edge(template.label, _named(kind, len(shares)), shares[0])
            for (_, kind), shares in sorted(alike.items(), reverse=True)
        ]
    return found


def _measured(template: Template) -> list[tuple[float, str]]:
    starts, _ = edge_lengths(template)
    points = template.outline.points
    if len(starts) == 1:
        return [(float(np.ptp(box(template.outline).reshape(2, 2), axis=0).max()), "across")]
    ends = [*starts[1:], starts[0]]
    bulges = template.outline.bulge
    return [
        (float(np.hypot(*(points[end] - points[start]))), "curved" if bulges[start] else "straight")
        for start, end in zip(starts, ends, strict=True)
    ]


def _named(kind: str, count: int) -> str:
    return kind if kind == "across" else f"{count} {kind}"


def edge_table(flow: Flow, content: Content) -> None:
    """Set the table of edges."""
    block = content.sizes[0].block
    edges = edges_of(block)
    longest = len(edges) > MOST
    if longest:
        first = {edge.label: edge for edge in reversed(edges)}
        edges = [edge for edge in edges if first[edge.label] is edge]
    room = (content.frame.across - 50.0) / min(ACROSS, len(content.sizes))
    for start in range(0, len(content.sizes), ACROSS):
        shown = content.sizes[start : start + ACROSS]
        columns = (
            Column("Paper", 0.0, 16.0),
            Column("Edges", 18.0, 28.0),
            *(Column(made.name, 50.0 + n * room, room - 2.0) for n, made in enumerate(shown)),
        )
        flow.section("Edges of the papers", keep=24.0)
        which = f"The longest edge of each of {len(block.templates)} papers" if longest else "Edges"
        flow.paragraph(
            f"{which} from corner to corner, curved ones too, to the nearest 1/32 in and tenth of a "
            "millimetre: lay a ruler on a print before you cut it.",
            SMALL,
            colour=GREY,
        )
        flow.space(2.0)
        flow.table_head(columns)
        before = ""
        for number, edge in enumerate(edges):
            last = number + 1 == len(edges) or edges[number + 1].label != edge.label
            lengths = [_ruler(edge.share * made.block.width) for made in shown]
            if flow.need(ROW):
                flow.table_head(columns)
                before = ""
            label = edge.label if edge.label != before else ""
            flow.row(columns, (label, edge.what, *lengths), ROW, ruled=last)
            before = edge.label
        flow.space(4.0)


def _ruler(mm: float) -> str:
    """Return a length as a ruler shows it: `2 13/32 in (61.1 mm)`."""
    return f"{format_inches(max(round(mm / RULER), 1) * RULER)} ({mm:.1f} mm)"
