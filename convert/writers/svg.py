"""Sheets as SVG: one path per stroke, true arcs, true size.

One user unit is 1/`units_per_inch` of an inch, so that a program that looks at bare coordinates
and one that follows width, height and viewBox come to the same size. At 96 (the CSS inch) width
and height are in mm as well; at other settings they are plain numbers, because a program with
units of its own would turn CSS millimetres into something else.

*Source*: SVG 2, 8.2 (viewBox), 9.3.8 (elliptical arc commands); CSS Values 3, 6.2 (1in = 96px).
"""

from __future__ import annotations

from itertools import groupby
from math import degrees, isclose
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import svgwrite
from svgwrite.container import Group
from svgwrite.path import Path
from svgwrite.text import Text

from convert.units import MM_PER_INCH
from convert.writers.numbers import fixed, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.cutting.sheet import Lettering, Purpose, Sheet
    from convert.geometry.chain import Chain, Floats
    from convert.profile import Profile

CSS_UNITS_PER_INCH = 96.0

CAPITAL_SHARE = 0.716
"""Height of capitals as a share of the font size in common sans-serif faces (from memory)."""

WIDEST_ARC = float(np.tan(np.radians(150.0) / 4.0))
"""An arc with a larger bulge is written as two. An SVG arc has no centre: readers find it from the
ends and the radius, and near a half circle a rounding of d in those moves the arc by
d · tan(sweep / 2), which has no bound. At 150 degrees it is under 4 d."""


def svg_bytes(sheet: Sheet, profile: Profile) -> bytes:
    """Return the sheet as an SVG file.

    *Errors*: OutputError (WRITE-001) when a number is not finite.
    """
    digits = profile.svg.digits
    scale = profile.svg.units_per_inch / MM_PER_INCH
    width, height = fixed(sheet.width * scale, digits), fixed(sheet.height * scale, digits)
    if isclose(profile.svg.units_per_inch, CSS_UNITS_PER_INCH):
        size = (f"{fixed(sheet.width, digits)}mm", f"{fixed(sheet.height, digits)}mm")
    else:
        size = (width, height)
    drawing = svgwrite.Drawing(size=size, viewBox=f"0 0 {width} {height}", debug=False)
    drawing.set_desc(title=sheet.title, desc=f"{sheet.arrangement.value}, sheet {sheet.number} of {sheet.of}")

    used: dict[str, int] = {}
    for purpose, shapes in _runs(sheet, scale, digits):
        layer = profile.layers[purpose]
        used[layer.name] = used.get(layer.name, 0) + 1
        number = used[layer.name]
        group = Group(
            id=layer.name if number == 1 else f"{layer.name}-{number}",
            fill="none",
            stroke=layer.colour,
            stroke_width=fixed(layer.width * scale, digits),
            stroke_linejoin="round",
            stroke_linecap="round",
            debug=False,
        )
        group.set_desc(title=layer.name)
        for shape in shapes:
            if isinstance(shape, Text):
                shape["fill"] = layer.colour
                shape["stroke"] = "none"
            group.add(shape)
        drawing.add(group)

    root = drawing.get_xml()
    ET.indent(root, " ")
    content: bytes = ET.tostring(root, encoding="utf-8")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + content + b"\n"


def _runs(sheet: Sheet, scale: float, digits: int) -> Iterator[tuple[Purpose, list[Text | Path]]]:
    """Yield one group's worth at a time: words first, then the strokes, whose order is kept."""
    texts: dict[Purpose, list[Text | Path]] = {}
    for lettering in sheet.letterings:
        texts.setdefault(lettering.purpose, []).append(_text(lettering, sheet.height, scale, digits))
    yield from texts.items()
    for purpose, strokes in groupby(sheet.strokes, key=lambda stroke: stroke.purpose):
        paths = [
            path_data(_page(stroke.chain.points, sheet.height, scale), stroke.chain, digits)
            for stroke in strokes
        ]
        yield purpose, [Path(d=d, debug=False) for d in paths]


def _page(points: Floats, height: float, scale: float) -> Floats:
    """Turn sheet coordinates (mm, y up) into user units, y down."""
    return np.stack((points[:, 0] * scale, (height - points[:, 1]) * scale), axis=-1)


def path_data(points: Floats, chain: Chain, digits: int) -> str:
    """Return path data with the bulges of `chain` between `points` (its vertices on the page, y down).

    Turning y down reverses the sense of every arc: a positive bulge is sweep flag 0.
    """
    ends = np.roll(points, -1, axis=0) if chain.closed else points[1:]
    starts = points[: len(chain.bulge)]
    table = _split_wide(rounded(starts, digits), rounded(ends, digits), chain.bulge)
    start, end, bulge = table
    chord = np.hypot(*(end - start).T)
    size = np.abs(bulge)
    # An arc that rises above its chord by less than half a step of the last digit is written as a line.
    straight = size * chord < 10.0**-digits
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = np.where(straight, 0.0, chord * (1.0 + bulge * bulge) / (4.0 * size))
    parts = [f"M{_pair(start[0], digits)}"]
    last = len(bulge) - 1
    for i, (to, b, r, line) in enumerate(zip(end, bulge, radius, straight, strict=True)):
        if line:
            if not (chain.closed and i == last):  # Z draws the closing line
                parts.append(f"L{_pair(to, digits)}")
        else:
            measure = fixed(float(r), digits + 1)
            parts.append(f"A{measure} {measure} 0 0 {0 if b > 0 else 1} {_pair(to, digits)}")
    if chain.closed:
        parts.append("Z")
    return " ".join(parts)


def _split_wide(start: Floats, end: Floats, bulge: Floats) -> tuple[Floats, Floats, Floats]:
    """Halve every arc wider than WIDEST_ARC at its middle (in page coordinates, y down)."""
    wide = np.abs(bulge) > WIDEST_ARC
    if not wide.any():
        return start, end, bulge
    chord = end - start
    # The middle lies off the chord's middle by bulge · chord / 2; to the right of the chord for a
    # positive bulge with y up (DXF reference, group code 42), which is to its left with y down.
    middle = 0.5 * (start + end) + 0.5 * bulge[:, None] * np.stack((-chord[:, 1], chord[:, 0]), axis=-1)
    half = np.tan(np.arctan(bulge) / 2.0)
    repeat = np.where(wide, 2, 1)
    second = np.cumsum(repeat)[wide] - 1
    starts, ends, bulges = (np.repeat(a, repeat, axis=0) for a in (start, end, np.where(wide, half, bulge)))
    ends[second - 1] = middle[wide]
    starts[second] = middle[wide]
    return starts, ends, bulges


def _pair(point: Floats, digits: int) -> str:
    return f"{fixed(float(point[0]), digits)},{fixed(float(point[1]), digits)}"


def _text(lettering: Lettering, height: float, scale: float, digits: int) -> Text:
    """Return one line of text; the base line is worked out here, as readers differ in how they centre."""
    x, y = lettering.at[0] * scale, (height - lettering.at[1]) * scale
    capital = lettering.height * scale
    text = Text(
        lettering.text,
        x=[fixed(x, digits)],
        y=[fixed(y + 0.5 * capital, digits)],
        font_family="sans-serif",
        font_size=fixed(capital / CAPITAL_SHARE, digits),
        text_anchor="middle",
        debug=False,
    )
    if lettering.angle_rad != 0.0:
        turn = fixed(-degrees(lettering.angle_rad), digits)
        text["transform"] = f"rotate({turn} {fixed(x, digits)} {fixed(y, digits)})"
    return text
