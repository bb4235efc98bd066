"""Text that lies in a piece names it; where none does, the title of its shape.

A text that stands in one piece only is that piece's own name. A text that stands in several names what
they have in common: their fabric. Several texts in one piece are read as one, from the top left on.
A title belongs to a filled shape, or to a closed outline, and names what is seen of it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import RayTable, inner_points
from convert.block.model import OUTSIDE
from convert.block.visible import Fills, fabrics
from convert.errors import Finding, Place, Severity

if TYPE_CHECKING:
    from convert.block.model import PlanarMap
    from convert.reader.drawing import Drawing

MOST_TOLD = 8
"""Names that are listed one by one."""


@dataclass(frozen=True, slots=True)
class Names:
    """By face: the name of the piece itself and that of its fabric; None where no text tells it."""

    piece: tuple[str | None, ...]
    fabric: tuple[str | None, ...]
    findings: tuple[Finding, ...]


def names_in(planar: PlanarMap, drawing: Drawing) -> Names:
    """Return what the texts and titles of a drawing name, and what there is to say about them."""
    read, findings = _texts(planar, drawing)
    titles = _titles(planar, drawing)
    titled = any(title and not text for title, text in zip(titles, read, strict=True))
    read = [text or title for text, title in zip(read, titles, strict=True)]
    seen = Counter(" ".join(text.split()).casefold() for text in read if text)
    alone = [text if text and seen[" ".join(text.split()).casefold()] == 1 else None for text in read]
    shared = [text if text and own is None else None for text, own in zip(read, alone, strict=True)]
    single = [text for text in alone if text]
    if single:
        told = ", ".join(repr(text) for text in sorted(single)[:MOST_TOLD])
        more = " …" if len(single) > MOST_TOLD else ""
        which = "a piece has a name" if len(single) == 1 else f"{len(single)} pieces have names"
        source = "a text that lies there or the title of a shape" if titled else "the text that lies there"
        what = f"{which}, from {source}: {told}{more}"
        findings.append(Finding("BLOCK-032", Severity.NOTE, what, value=float(len(single))))
    for text in sorted({text.casefold(): text for text in shared if text}.values()):
        count = seen[" ".join(text.split()).casefold()]
        what = f"{text!r} names {count} pieces: it is taken for the name of their fabric"
        findings.append(Finding("BLOCK-033", Severity.NOTE, what, value=float(count)))
    return Names(tuple(alone), tuple(shared), tuple(findings))


def _titles(planar: PlanarMap, drawing: Drawing) -> list[str | None]:
    """Return for each face the title of the topmost shape that covers its middle, filled or not."""
    names: list[str | None] = [None] * planar.face_count
    if not names or not any(e.title for e in drawing.elements):
        return names
    is_open = np.zeros(len(drawing.elements), bool)
    is_open[drawing.element_of[~drawing.closed[drawing.subpath_of]]] = True
    elements = tuple(
        replace(e, fill="#000000", fill_opacity=1.0) if e.title and e.fill is None and not opened else e
        for e, opened in zip(drawing.elements, is_open.tolist(), strict=True)
    )
    tops = fabrics(inner_points(planar), Fills.of(replace(drawing, elements=elements)))
    return [elements[k].title if k >= 0 else None for k in tops.tolist()]


def _texts(planar: PlanarMap, drawing: Drawing) -> tuple[list[str | None], list[Finding]]:
    """Return for each face the text that lies in it; texts of one face are read from the top left on."""
    names: list[str | None] = [None] * planar.face_count
    if not drawing.texts or not names:
        return names, []
    rays = RayTable.of(planar.points, planar.start, planar.end, planar.bulge)
    texts = sorted(drawing.texts, key=lambda t: (-t.at[1], t.at[0]))
    seen = rays.first_hits(np.array([t.at for t in texts], float))
    findings = []
    for text, half in zip(texts, seen.tolist(), strict=True):
        face = int(planar.face_of[half]) if half >= 0 else OUTSIDE
        if face == OUTSIDE:
            findings.append(
                Finding(
                    "BLOCK-009",
                    Severity.NOTE,
                    "a text lies in no piece, so it names none",
                    place=Place(
                        line=text.line, element=text.element, at=(text.at[0], drawing.page[1] - text.at[1])
                    ),
                )
            )
        else:
            names[face] = f"{names[face]} {text.text}" if names[face] else text.text
    return names, findings
