"""Sheets as DXF: one polyline per stroke, arcs as bulges, the unit in the header.

R2000 gets LWPOLYLINE and says its unit ($INSUNITS); R12 gets POLYLINE with VERTEX and has no
header variable for the unit, so that whoever names the file has to say it there.

*Source*: DXF reference: LWPOLYLINE (90, 70, 10, 20, 42), header variables $INSUNITS (1 inches,
4 millimetres), $MEASUREMENT (0 English, 1 metric), $EXTMIN and $EXTMAX.
"""

from __future__ import annotations

import io
import logging
import re
from cmath import exp
from contextlib import contextmanager
from functools import cache
from math import degrees
from typing import TYPE_CHECKING, Any

import numpy as np
from ezdxf import filemanagement, options  # type: ignore[attr-defined]
from ezdxf.colors import DXF_DEFAULT_COLORS, int2rgb
from ezdxf.enums import TextEntityAlignment

from convert.cutting.letters import text_width
from convert.cutting.sheet import segments_of
from convert.errors import OutputError
from convert.geometry.measure import boxes
from convert.units import MM_PER_INCH
from convert.writers.numbers import fixed, rounded
from convert.writers.polylines import lwpolyline, with_entities

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.cutting.sheet import Lettering, Sheet, Stroke
    from convert.geometry.chain import Chain, Floats
    from convert.profile import Profile

UNITS = {"in": (1.0 / MM_PER_INCH, 1, 0), "mm": (1.0, 4, 1)}
"""For each unit: units per mm, its $INSUNITS, its $MEASUREMENT."""

VERSIONS = ("R2000", "R12")

BULGE_DIGITS = 6
"""How many more digits a bulge has than a coordinate: the arc moves by half the chord times its error."""


def dxf_bytes(sheet: Sheet, profile: Profile) -> bytes:
    """Return the sheet as a DXF file.

    *Errors*: OutputError when a number is not finite (WRITE-001) or the profile asks for a version
    (WRITE-002) or unit (WRITE-003) that isn't written.
    """
    settings = profile.dxf
    if settings.version not in VERSIONS:
        raise OutputError.because(
            "WRITE-002", f"DXF version {settings.version} is not written", f"Use one of {', '.join(VERSIONS)}"
        )
    if settings.unit not in UNITS:
        raise OutputError.because("WRITE-003", f"DXF unit {settings.unit} is not written", "Use mm or in")
    scale, insunits, measurement = UNITS[settings.unit]
    with _same_every_time():
        document = filemanagement.new(settings.version, setup=False, units=insunits)
        document.header["$MEASUREMENT"] = measurement
        space = document.modelspace()
        used = {words.purpose for words in sheet.letterings} | {stroke.purpose for stroke in sheet.strokes}
        for purpose in sorted(used, key=lambda purpose: purpose.value):
            layer = profile.layers[purpose]
            document.layers.add(layer.name, color=nearest_colour_number(layer.colour))
        for lettering in sheet.letterings:
            _add_text(space, lettering, profile.layers[lettering.purpose].name, scale, settings.digits)
        polylines = []
        for stroke, rows in zip(sheet.strokes, _rows(sheet.strokes, scale, settings.digits), strict=True):
            name, closed = profile.layers[stroke.purpose].name, stroke.chain.closed
            if settings.version == "R12":
                space.add_polyline2d(rows, format="xyb", close=closed, dxfattribs={"layer": name})
            else:
                handle = document.entitydb.next_handle()
                polylines.append(lwpolyline(handle, space.layout_key, name, rows, closed=closed))
        low, high = _extents(sheet, scale, settings.digits)
        space.reset_extents((*low, 0.0), (*high, 0.0))
        document.header["$EXTMIN"], document.header["$EXTMAX"] = (*low, 0.0), (*high, 0.0)
        stream = io.StringIO()
        document.write(stream)
        text = with_entities(stream.getvalue(), polylines)
        content: bytes = document.encode(_without_exponents(text))
    return content


@contextmanager
def _same_every_time() -> Iterator[None]:
    """Keep dates, random identifiers and remarks about R12 lacking units out of what the library does."""
    logger = logging.getLogger("ezdxf")
    level, fixed_data = logger.level, options.write_fixed_meta_data_for_testing
    logger.setLevel(logging.ERROR)
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = fixed_data
        logger.setLevel(level)


def _rows(strokes: Sequence[Stroke], scale: float, digits: int) -> list[list[tuple[float, float, float]]]:
    """Return for each stroke its vertices as (x, y, bulge), in file units and rounded."""
    if not strokes:
        return []
    sizes = [len(stroke.chain.points) for stroke in strokes]
    bulge = np.concatenate([_padded(stroke.chain) for stroke in strokes])
    points = rounded(np.concatenate([stroke.chain.points for stroke in strokes]) * scale, digits)
    last = np.cumsum(sizes) - 1
    after = np.arange(1, len(points) + 1)
    after[last] = last + 1 - sizes
    chord = np.hypot(*(points[after] - points).T)
    # An arc that rises above its chord by less than half a step of the last digit is written as a line.
    bulge[np.abs(bulge) * chord < 10.0**-digits] = 0.0
    table = np.column_stack((points, rounded(bulge, digits + BULGE_DIGITS))).tolist()
    return [table[end + 1 - size : end + 1] for end, size in zip(last.tolist(), sizes, strict=True)]


def _padded(chain: Chain) -> Floats:
    """Return one bulge per vertex: an open chain's last vertex leads nowhere."""
    return chain.bulge if chain.closed else np.append(chain.bulge, 0.0)


def _add_text(space: Any, lettering: Lettering, layer: str, scale: float, digits: int) -> None:  # noqa: ANN401
    # "^" starts a control character in DXF texts and "%%" a symbol: "^ " and "%%%" stand for the signs.
    text = lettering.text.replace("^", "^ ").replace("%%", "%%%%%%")
    middle = complex(*lettering.at) * scale
    # Readers that ignore the alignment use the insertion point: the left end of the base line.
    half = 0.5 * complex(text_width(lettering.text, lettering.height), lettering.height) * scale
    left = middle - half * exp(1j * lettering.angle_rad)
    values = (
        lettering.height * scale,
        degrees(lettering.angle_rad),
        middle.real,
        middle.imag,
        left.real,
        left.imag,
    )
    height, rotation, x, y, left_x, left_y = rounded(values, digits).tolist()
    entity = space.add_text(text, height=height, rotation=rotation, dxfattribs={"layer": layer})
    entity.set_placement((x, y), align=TextEntityAlignment.MIDDLE_CENTER)
    entity.dxf.insert = (left_x, left_y)


def _extents(sheet: Sheet, scale: float, digits: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the lower left and upper right corner of all strokes, in file units."""
    if not sheet.strokes:
        return (0.0, 0.0), (sheet.width * scale, sheet.height * scale)
    table = boxes(segments_of(sheet.strokes)) * scale
    low, high = rounded(table[:, :2].min(axis=0), digits), rounded(table[:, 2:].max(axis=0), digits)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


@cache
def nearest_colour_number(colour: str) -> int:
    """Return the number of the DXF palette colour nearest to `#rrggbb` (squared distance in RGB).

    Layers of R2000 and R12 have a palette number only. 1 to 9 and 250 to 255 include pure and grey
    colours; 7 is black or white by the reader's background, and black is written so.
    """
    wanted = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)])
    if not wanted.any():
        return 7
    palette = np.array([int2rgb(value) for value in DXF_DEFAULT_COLORS[1:256]])
    distance = ((palette - wanted) ** 2).sum(axis=1)
    distance[6] = np.iinfo(distance.dtype).max
    return int(distance.argmin()) + 1


EXPONENT = re.compile(r"^( *(\d+)\n)(-?\d+(?:\.\d+)?e-\d+)$", re.MULTILINE)
"""A group code line, then a number with an exponent."""


def _without_exponents(text: str) -> str:
    """Write out numbers like 5e-06, which small readers don't understand. Texts are left alone."""
    if "e-" not in text:
        return text

    def plain(match: re.Match[str]) -> str:
        code = int(match[2])
        is_number = 10 <= code <= 59 or 110 <= code <= 149 or 210 <= code <= 239 or 1010 <= code <= 1059
        return match[1] + fixed(float(match[3]), 16) if is_number else match[0]

    return EXPONENT.sub(plain, text)
