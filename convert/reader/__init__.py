"""From an SVG file to a Drawing: what a person sees on the page, in millimetres."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from convert.errors import DrawingError, Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.reader.drawing import Drawing

__all__ = ["read_drawing", "read_drawing_bytes"]


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
    file = str(path)
    place = Place(file=file)
    try:
        if path.is_dir():
            raise DrawingError.because(
                "READ-013", "this is a folder, not a drawing", "Name a file in it", place=place
            )
        data = path.read_bytes()
    except FileNotFoundError as fault:
        raise DrawingError.because(
            "READ-012", "there is no such file", "Check the name", place=place
        ) from fault
    except OSError as fault:
        what = f"the file can't be read: {fault.strerror}"
        raise DrawingError.because("READ-017", what, "Check its name and permissions", place=place) from fault
    return read_drawing_bytes(data, file, fit=fit, unit_mm=unit_mm, only=only, skip=skip)


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
    for ending in (".svgz", ".svg.gz", ".svg"):
        if name.lower().endswith(ending):
            name = name[: -len(ending)]
            break
    return draw(data, file, name, sha256(data).hexdigest(), fit, unit_mm, only, skip)
