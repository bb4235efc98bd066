"""From an SVG file to a Drawing: what a person sees on the page, in millimetres."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from convert.errors import DrawingError, Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.reader.drawing import Drawing

__all__ = ["read_drawing", "read_drawing_bytes"]

_ENDINGS = (".svgz", ".svg.gz", ".svg")


def read_drawing(
    path: Path,
    *,
    fit: float | None = None,
    unit_mm: float | None = None,
    only: Sequence[str] = (),
    skip: Sequence[str] = (),
) -> Drawing:
    """Return what an SVG file shows.

    *Units*: `fit` is the largest distance in mm between a drawn curve and its arcs (by default 0.005
    on the drawing enlarged to 300 mm); `unit_mm` is what one user unit means in a drawing that
    states no real size. `only` and `skip` are patterns for layers, classes, titles and ids.
    *Errors*: DrawingError, naming file, line and element.
    """
    place = Place(file=str(path))
    try:
        if path.is_dir():
            what = "this is a folder, not a drawing"
            raise DrawingError.because("READ-013", what, "Name a file in it", place=place)
        data = path.read_bytes()
    except FileNotFoundError as fault:
        raise DrawingError.because(
            "READ-012", "there is no such file", "Check the name", place=place
        ) from fault
    except (OSError, ValueError) as fault:
        what = f"the file can't be read: {getattr(fault, 'strerror', None) or fault}"
        raise DrawingError.because("READ-017", what, "Check its name and permissions", place=place) from fault
    return read_drawing_bytes(data, str(path), fit=fit, unit_mm=unit_mm, only=only, skip=skip)


def read_drawing_bytes(
    data: bytes,
    file: str,
    *,
    fit: float | None = None,
    unit_mm: float | None = None,
    only: Sequence[str] = (),
    skip: Sequence[str] = (),
) -> Drawing:
    """Return what the bytes of an SVG file show; `file` names it in messages. See `read_drawing`."""
    from convert.reader.draw import draw

    name = Path(file).name
    name = next((name[: -len(e)] for e in _ENDINGS if name.lower().endswith(e)), name)
    try:
        drawing = draw(data, name, sha256(data).hexdigest(), fit, unit_mm, only, skip)
    except DrawingError as fault:
        raise fault.in_file(file) from fault
    return replace(
        drawing, findings=tuple(replace(f, place=replace(f.place, file=file)) for f in drawing.findings)
    )
