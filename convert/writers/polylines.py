"""Polylines of R2000 as DXF text, by the ten thousand: every letter on a sheet is some.

*Source*: DXF reference, LWPOLYLINE: 5 handle, 330 owner, 100 subclass markers, 8 layer, 90 number of
vertices, 70 flags (1 closed), then for each vertex 10 x, 20 y, 42 bulge (0 if left out).
"""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

END = "  0\nENDSEC\n"


def lwpolyline(
    handle: str, owner: str, layer: str, rows: Sequence[tuple[float, float, float]], *, closed: bool
) -> str:
    """Return one polyline through `rows` (x, y, bulge) as DXF text."""
    vertices = "".join(
        [f" 10\n{x}\n 20\n{y}\n 42\n{b}\n" if b else f" 10\n{x}\n 20\n{y}\n" for x, y, b in rows]
    )
    return (
        f"  0\nLWPOLYLINE\n  5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n"
        f"100\nAcDbPolyline\n 90\n{len(rows)}\n 70\n{int(closed)}\n{vertices}"
    )


def with_entities(document: str, entities: Iterable[str]) -> str:
    """Return a DXF text with more entities at the end of its section of entities."""
    begin = document.index("  0\nSECTION\n  2\nENTITIES\n")
    end = document.index(END, begin)
    return "".join(chain((document[:end],), entities, (document[end:],)))
