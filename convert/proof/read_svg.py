"""Reads back the SVG that we write: a small strict reader for what may be in it, and nothing else.

It shares no code with the writer or with the reader of drawings. Whatever it does not know is an
error, so that nothing in a file can go unseen.

*Source*: SVG 2, 8.2 (viewBox), 9.3 (path data), B.2.5 (a radius too small is enlarged); CSS Values
3, 6.2 (96 px = 1 in).
"""

from __future__ import annotations

import re
from math import pi, radians
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np

from convert.proof.model import ReadFile, ReadPath, ReadText, UnreadableError
from convert.units import CSS_UNIT_MM, MM_PER_INCH

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.proof.outlines import Floats, Points

SPACE = "{http://www.w3.org/2000/svg}"
NUMBER = r"-?[0-9]+(?:\.[0-9]+)?"
LENGTH = re.compile(rf"({NUMBER})(mm|in|px)?")
PATH = re.compile(
    rf"M{NUMBER},{NUMBER}(?: (?:L{NUMBER},{NUMBER}|A{NUMBER} {NUMBER} 0 [01] [01] {NUMBER},{NUMBER}))*( Z)?"
)
SUBPATH = re.compile(r" (?=M)")
NUMBERS = re.compile(NUMBER)
TOKEN = re.compile(rf"[MLAZ]|{NUMBER}")
ROTATE = re.compile(rf"rotate\(({NUMBER}) ({NUMBER}) ({NUMBER})\)")
CAPITALS = 0.716
"""Height of capitals as a share of the font size (from memory)."""


def read_svg(data: bytes, units_per_inch: float) -> ReadFile:
    """Return what is in an SVG file; plain lengths count as `units_per_inch`.

    *Errors*: UnreadableError when anything is in it that our writer does not write.
    """
    try:
        root = ET.fromstring(data)  # noqa: S314 - our own file, read a moment after it was written
    except ET.ParseError as error:
        raise UnreadableError(f"it is not well-formed XML: {error}") from error
    if root.tag != f"{SPACE}svg":
        raise UnreadableError("its root is not an svg element")
    width, height = (_length(root.get(name, ""), units_per_inch) for name in ("width", "height"))
    box = [_number(text) for text in root.get("viewBox", "").split()]
    if len(box) != 4 or box[0] != 0.0 or box[1] != 0.0 or min(*box[2:], width, height) <= 0.0:
        raise UnreadableError("its width, height and viewBox give no true size")
    scale = width / box[2]
    if abs(height / box[3] - scale) * max(box[2:]) > 1e-4:
        raise UnreadableError("its viewBox is stretched: width and height have different scales")

    shapes: list[tuple[str, str]] = []
    texts: list[ReadText] = []
    for group in root:
        if group.tag in {f"{SPACE}title", f"{SPACE}desc", f"{SPACE}defs"} and not len(group):
            continue
        _allow(group, "g", {"id", "fill", "stroke", "stroke-width", "stroke-linejoin", "stroke-linecap"})
        title = group.find(f"{SPACE}title")
        layer = (title.text or "") if title is not None else ""
        for item in group:
            if item is title:
                continue
            if item.tag == f"{SPACE}text":
                texts.append(_text(item, layer, scale, box[3]))
            else:
                _allow(item, "path", {"d"})
                # One path may hold several strokes.
                shapes += [(d, layer) for d in SUBPATH.split(item.get("d", ""))]
    return ReadFile(_paths(shapes, scale, box[3]), tuple(texts), (width, height))


def _allow(item: ET.Element, tag: str, attributes: set[str]) -> None:
    if item.tag != SPACE + tag or set(item.keys()) - attributes:
        raise UnreadableError(f"it holds a {item.tag.removeprefix(SPACE)} with {sorted(item.keys())}")


def _number(text: str) -> float:
    if not re.fullmatch(NUMBER, text):
        raise UnreadableError(f"{text!r} is not a number")
    return float(text)


def _length(text: str, units_per_inch: float) -> float:
    match = LENGTH.fullmatch(text)
    if match is None:
        raise UnreadableError(f"{text!r} is not a length")
    unit = float(CSS_UNIT_MM[match[2]]) if match[2] else MM_PER_INCH / units_per_inch
    return float(match[1]) * unit


def _paths(shapes: list[tuple[str, str]], scale: float, height: float) -> tuple[ReadPath, ...]:
    """Return all paths; arcs are worked out for the whole file at once."""
    rows: list[tuple[float, float, float, float, float]] = []  # x, y, radius, large, sweep of what leads here
    heads: list[tuple[int, bool, str]] = []
    for d, layer in shapes:
        match = PATH.fullmatch(d)
        if match is None:
            raise UnreadableError(f"path data {d[:60]!r} is not of the kind that is written")
        heads.append((len(rows), match[1] is not None, layer))
        if "A" not in d:
            # Letters are many and have no arcs.
            v = list(map(float, NUMBERS.findall(d)))
            rows += [(x, y, 0.0, 0.0, 0.0) for x, y in zip(v[::2], v[1::2], strict=True)]
            continue
        tokens = iter(TOKEN.findall(d))
        for token in tokens:
            if token == "A":  # noqa: S105 - a path command
                rx, ry, _, large, positive = (float(next(tokens)) for _ in range(5))
                if rx != ry or rx == 0.0:
                    raise UnreadableError(f"path data {d[:60]!r} has an ellipse")
                rows.append((float(next(tokens)), float(next(tokens)), rx, large, positive))
            elif token != "Z":  # noqa: S105
                rows.append((float(next(tokens)), float(next(tokens)), 0.0, 0.0, 0.0))
    table = np.array(rows).reshape(-1, 5)
    points = (table[:, 0] + 1j * (height - table[:, 1])) * scale
    arriving = _sweeps(points, table[:, 2] * scale, table[:, 3] > 0.5, table[:, 4] > 0.5)
    paths = []
    ends = [head[0] for head in heads[1:]] + [len(rows)]
    for (first, closed, layer), end in zip(heads, ends, strict=True):
        at: Points = points[first:end]
        sweep: Floats = arriving[first + 1 : end]
        if closed and len(at) > 1 and abs(at[-1] - at[0]) < 1e-9:
            at = at[:-1]
        elif closed:
            sweep = np.append(sweep, 0.0)
        paths.append(ReadPath(at, sweep, closed, layer))
    return tuple(paths)


def _sweeps(points: Points, radius: Floats, large: NDArray[np.bool_], clockwise: NDArray[np.bool_]) -> Floats:
    """Return the sweep of the segment that arrives at each point: sweep flag 1 is clockwise on the page."""
    chord = np.abs(points - np.roll(points, 1))
    ratio = np.divide(0.5 * chord, radius, out=np.zeros_like(radius), where=radius > 0.0)
    sweep = 2.0 * np.arcsin(np.minimum(ratio, 1.0))
    sweep = np.where(large, 2.0 * pi - sweep, sweep)
    return np.where(clockwise, -sweep, sweep)


def _text(item: ET.Element, layer: str, scale: float, height: float) -> ReadText:
    known = {"x", "y", "font-size", "font-family", "text-anchor", "transform", "fill", "stroke"}
    _allow(item, "text", known)
    if item.get("text-anchor") != "middle":
        raise UnreadableError("it holds a text that is not centred")
    x, y, size = (_number(item.get(name, "")) for name in ("x", "y", "font-size"))
    at = complex(x, y - 0.5 * CAPITALS * size)
    angle = 0.0
    if "transform" in item.keys():  # noqa: SIM118 - an Element is no mapping
        match = ROTATE.fullmatch(item.get("transform", ""))
        if match is None:
            raise UnreadableError("it holds a text with a transform other than a turn about a point")
        angle = -radians(float(match[1]))
        pivot = complex(float(match[2]), float(match[3]))
        at = pivot + (at - pivot) * np.exp(-1j * angle)
    middle = complex(at.real, height - at.imag) * scale
    return ReadText(item.text or "", middle, CAPITALS * size * scale, angle, layer)
