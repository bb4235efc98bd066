"""Reads back the DXF that we write, with a general reader of the format and its audit."""

from __future__ import annotations

import io
import re
from math import radians
from typing import TYPE_CHECKING, Any

import numpy as np
from ezdxf import filemanagement
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.tools.text import caret_decode

from convert.proof.model import ReadFile, ReadPath, ReadText, UnreadableError
from convert.proof.read_polylines import take_polylines
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Collection

    from convert.profile import DxfSettings

UNIT_MM = {1: MM_PER_INCH, 4: 1.0}
"""Millimetres per unit for each $INSUNITS that we write. *Source*: DXF reference, header variables."""
PERCENT = re.compile("%%%")


def read_dxf(data: bytes, settings: DxfSettings, drawn: Collection[str] = ()) -> ReadFile:
    """Return what is in a DXF file. R12 can't say its unit: the one of `settings` counts.

    Polylines on the layers `drawn`, on which nothing is cut, are read by a reader of our own: they are many.

    *Errors*: UnreadableError when it can't be loaded or holds anything that our writer does not write.
    """
    try:
        taken = take_polylines(data.decode("cp1252"), drawn)
        document = filemanagement.read(io.StringIO(taken.rest))
    except (DXFError, UnicodeDecodeError, ValueError) as error:
        raise UnreadableError(f"it is not a DXF file that loads: {error}") from error
    complaints = [f"{e.code}: {e.message}" for e in document.audit().errors]
    number = document.header.get("$INSUNITS", 0)
    measurement = document.header.get("$MEASUREMENT", 0)
    metric = settings.unit == "mm"
    if document.dxfversion == "AC1009":
        number, measurement = 4 if metric else 1, int(metric)
    scale = UNIT_MM.get(number)
    if scale is None:
        raise UnreadableError(f"its unit number is {number}, which is neither inches nor millimetres")
    if (number == 4) != metric:
        complaints.append(f"its unit number is {number}, but the profile asks for {settings.unit}")
    if measurement != int(metric):
        complaints.append("its $MEASUREMENT contradicts its unit")

    known = [*taken.handles, *document.entitydb.keys()]
    if len(set(known)) != len(known) or taken.owners - {document.modelspace().layout_key}:
        complaints.append("its polylines share handles or belong to another space")

    paths: list[ReadPath] = []
    texts: list[ReadText] = []
    entity: Any
    for entity in document.modelspace():
        kind = entity.dxftype()
        if kind == "TEXT":
            texts.append(_text(entity, scale))
        elif kind == "LWPOLYLINE":
            paths.append(_path(np.asarray(entity.get_points("xyb")), entity, scale))
        elif kind == "POLYLINE":
            rows = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
            paths.append(_path(np.asarray(rows), entity, scale))
        else:
            raise UnreadableError(f"it holds a {kind}")
    if taken.handles:
        if len(paths) != taken.paths.count(None):
            raise UnreadableError("some of its polylines are lost when it is loaded")
        others = iter(paths)
        paths = [next(others) if path is None else _scaled(path, scale) for path in taken.paths]
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    extents = (low[0] * scale, low[1] * scale, high[0] * scale, high[1] * scale)
    return ReadFile(tuple(paths), tuple(texts), None, tuple(complaints), extents)


def _path(rows: Any, entity: Any, scale: float) -> ReadPath:  # noqa: ANN401
    rows = rows.reshape(-1, 3)
    closed = bool(entity.is_closed if hasattr(entity, "is_closed") else entity.closed)
    sweep = 4.0 * np.arctan(rows[:, 2])
    points = (rows[:, 0] + 1j * rows[:, 1]) * scale
    return ReadPath(points, sweep if closed else sweep[:-1], closed, entity.dxf.layer)


def _scaled(path: ReadPath, scale: float) -> ReadPath:
    if scale == 1.0:
        return path
    return ReadPath(path.points * scale, path.sweep, path.closed, path.layer)


def _text(entity: Any, scale: float) -> ReadText:  # noqa: ANN401
    if (entity.dxf.halign, entity.dxf.valign) != (1, 2):
        raise UnreadableError("it holds a text that is not centred")
    at = complex(entity.dxf.align_point.x, entity.dxf.align_point.y) * scale
    text = PERCENT.sub("%", caret_decode(decode_dxf_unicode(entity.dxf.text)))
    return ReadText(text, at, entity.dxf.height * scale, radians(entity.dxf.rotation), entity.dxf.layer)
