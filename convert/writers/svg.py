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

from convert.cutting.sheet import Purpose, segment_rows
from convert.units import MM_PER_INCH
from convert.writers.numbers import fixed, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from convert.cutting.sheet import Lettering, Sheet
    from convert.geometry.chain import Chain, Floats
    from convert.profile import Profile

    Ints = NDArray[np.int64]

CSS_UNITS_PER_INCH = 96.0

DRAWN = frozenset({Purpose.MARK, Purpose.LETTER})
"""Neighbouring strokes of these purposes in one shape are one path."""

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
    """Yield one group's worth at a time: words first, then the strokes, whose order is kept.

    What is drawn in one shape without a pause is one path: a person can take hold of it, and thousands
    of letters stay a small file.
    """
    texts: dict[Purpose, list[Text | Path]] = {}
    for lettering in sheet.letterings:
        texts.setdefault(lettering.purpose, []).append(_text(lettering, sheet.height, scale, digits))
    yield from texts.items()
    chains = [stroke.chain for stroke in sheet.strokes]
    every = np.concatenate([np.zeros((0, 2)), *(chain.points for chain in chains)])
    data = paths_data(_page(every, sheet.height, scale), chains, digits)
    for purpose, strokes in groupby(zip(sheet.strokes, data, strict=True), key=lambda pair: pair[0].purpose):
        if purpose in DRAWN:
            runs = groupby(strokes, key=lambda pair: pair[0].copy)
            yield purpose, [Path(d=" ".join(d for _, d in run), debug=False) for _, run in runs]
        else:
            yield purpose, [Path(d=d, debug=False) for _, d in strokes]


def _page(points: Floats, height: float, scale: float) -> Floats:
    """Turn sheet coordinates (mm, y up) into user units, y down."""
    return np.stack((points[:, 0] * scale, (height - points[:, 1]) * scale), axis=-1)


def path_data(points: Floats, chain: Chain, digits: int) -> str:
    """Return path data with the bulges of `chain` between `points` (its vertices on the page, y down)."""
    return paths_data(points, [chain], digits)[0]


def paths_data(points: Floats, chains: Sequence[Chain], digits: int) -> list[str]:
    """Return path data for many chains; `points` are all their vertices on the page, y down.

    Turning y down reverses the sense of every arc: a positive bulge is sweep flag 0.
    """
    if not chains:
        return []
    sizes, closed = [len(chain.points) for chain in chains], [chain.closed for chain in chains]
    at = rounded(points, digits)
    first, last = segment_rows(sizes, closed)
    path = np.repeat(np.arange(len(chains)), [len(chain) for chain in chains])
    bulges = np.concatenate([chain.bulge for chain in chains])
    start, end, bulge, path = _split_wide(at[first], at[last], bulges, path)
    chord = np.hypot(*(end - start).T)
    size = np.abs(bulge)
    # An arc that rises above its chord by less than half a step of the last digit is written as a line.
    straight = size * chord < 10.0**-digits
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = np.where(straight, 0.0, chord * (1.0 + bulge * bulge) / (4.0 * size))
    left = (bulge > 0.0).tolist()
    parts = [
        f"A{r} {r} 0 0 {0 if turns_left else 1} {x},{y}" if curved else f"L{x},{y}"
        for x, y, r, turns_left, curved in zip(
            _texts(rounded(end[:, 0], digits), digits),
            _texts(rounded(end[:, 1], digits), digits),
            _texts(rounded(radius, digits + 1), digits + 1),
            left,
            (~straight).tolist(),
            strict=True,
        )
    ]
    # Z draws a closing line.
    ends = np.cumsum(np.bincount(path, minlength=len(chains))).tolist()
    drawn = straight.tolist()
    heads = at[np.cumsum(sizes) - sizes]
    found, begin = [], 0
    for end_row, shut, x, y in zip(
        ends, closed, _texts(heads[:, 0], digits), _texts(heads[:, 1], digits), strict=True
    ):
        stop = end_row - 1 if shut and end_row > begin and drawn[end_row - 1] else end_row
        found.append(" ".join((f"M{x},{y}", *parts[begin:stop], *(("Z",) if shut else ()))))
        begin = end_row
    return found


def _texts(values: Floats, digits: int) -> list[str]:
    """Return rounded numbers as `fixed` does, many at once: the shortest text of a float is its rounding."""
    texts = [repr(value) for value in values.tolist()]
    return [fixed(float(t), digits) if "e" in t else t.removesuffix(".0") for t in texts]


def _split_wide(start: Floats, end: Floats, bulge: Floats, path: Ints) -> tuple[Floats, Floats, Floats, Ints]:
    """Halve every arc wider than WIDEST_ARC at its middle (in page coordinates, y down)."""
    wide = np.abs(bulge) > WIDEST_ARC
    if not wide.any():
        return start, end, bulge, path
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
    return starts, ends, bulges, np.repeat(path, repeat)


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
