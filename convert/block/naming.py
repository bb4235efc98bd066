"""Text that lies in a piece names it.

A text that stands in one piece only is that piece's own name. A text that stands in several names what
they have in common: their fabric. Several texts in one piece are read as one, from the top left on.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import RayTable
from convert.block.model import OUTSIDE
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
    """Return what the texts of a drawing name, and what there is to say about them."""
    read, findings = _texts(planar, drawing)
    seen = Counter(" ".join(text.split()).casefold() for text in read if text)
    alone = [text if text and seen[" ".join(text.split()).casefold()] == 1 else None for text in read]
    shared = [text if text and own is None else None for text, own in zip(read, alone, strict=True)]
    single = [text for text in alone if text]
    if single:
        told = ", ".join(repr(text) for text in sorted(single)[:MOST_TOLD])
        more = " …" if len(single) > MOST_TOLD else ""
        which = "a piece has a name" if len(single) == 1 else f"{len(single)} pieces have names"
        what = f"{which}, from the text that lies there: {told}{more}"
        findings.append(Finding("BLOCK-032", Severity.NOTE, what, value=float(len(single))))
    for text in sorted({text.casefold(): text for text in shared if text}.values()):
        count = seen[" ".join(text.split()).casefold()]
        what = f"{text!r} lies in {count} pieces: it is taken for the name of their fabric"
        findings.append(Finding("BLOCK-033", Severity.NOTE, what, value=float(count)))
    return Names(tuple(alone), tuple(shared), tuple(findings))


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
