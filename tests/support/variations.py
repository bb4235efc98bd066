"""The same picture written differently: turned, mirrored, larger, twice, in another order, backwards."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

import svgpathtools

SVG = "{http://www.w3.org/2000/svg}"
ET.register_namespace("", "http://www.w3.org/2000/svg")
STAY = {f"{SVG}{tag}" for tag in ("title", "desc", "style", "defs", "symbol")}


@dataclass(frozen=True, slots=True)
class Variation:
    """What is done to a drawing; the defaults do nothing but widen the page.

    `matrix` is a map (a, b, c, d) about the middle of the page; `digits` are kept after the point of
    every number that has more.
    """

    turn_deg: float = 0.0
    mirrored: bool = False
    factor: float = 1.0
    doubled: bool = False
    reordered: bool = False
    backwards: bool = False
    matrix: tuple[float, float, float, float] = (1.0, 0.0, 0.0, 1.0)
    digits: int | None = None
    pages: int = 3


def varied(text: str, how: Variation) -> str:
    """Return the drawing `text` with `how` done to it."""
    if how.digits is not None:
        text = re.sub(r"-?\d*\.\d+", lambda m: _rounded(m[0], how.digits), text)
    root = ET.fromstring(text)
    width, unit = _length(root.get("width", ""))
    height, _ = _length(root.get("height", ""))
    x, y, w, h = _box(root, width, height, unit)
    n = how.pages
    root.set("viewBox", f"{x - (n - 1) / 2 * w!r} {y - (n - 1) / 2 * h!r} {n * w!r} {n * h!r}")
    root.set("width", f"{n * how.factor * width!r}{unit}")
    root.set("height", f"{n * how.factor * height!r}{unit}")
    if how.reordered:
        _reorder(root)
    if how.backwards:
        for element in root.iter():
            _turn_back(element)
    everything = ET.Element(f"{SVG}g", id="everything")
    for child in list(root):
        if child.tag != f"{SVG}title":
            root.remove(child)
            everything.append(child)
    cx, cy = x + w / 2, y + h / 2
    flip = " scale(-1 1)" if how.mirrored else ""
    bend = " ".join(map(repr, how.matrix))
    about = f"rotate({how.turn_deg!r}){flip} matrix({bend} 0 0)"
    move = f"translate({cx!r} {cy!r}) {about} translate({-cx!r} {-cy!r})"
    turned = ET.SubElement(root, f"{SVG}g", transform=move)
    turned.append(everything)
    if how.doubled:
        ET.SubElement(turned, f"{SVG}use", href="#everything")
    return ET.tostring(root, encoding="unicode")


def _rounded(number: str, digits: int) -> str:
    return number if len(number.partition(".")[2]) <= digits else f"{float(number):.{digits}f}"


def _length(text: str) -> tuple[float, str]:
    match = re.fullmatch(r"([\d.]+)([a-z]*)", text)
    assert match is not None
    return float(match[1]), match[2]


def _box(root: ET.Element, width: float, height: float, unit: str) -> tuple[float, float, float, float]:
    if box := root.get("viewBox"):
        x, y, w, h = map(float, box.split())
        return x, y, w, h
    px = {"": 1.0, "px": 1.0, "in": 96.0}[unit]
    return 0.0, 0.0, width * px, height * px


def _reorder(parent: ET.Element) -> None:
    children = list(parent)
    drawn = [child for child in children if child.tag not in STAY]
    for child in children:
        parent.remove(child)
    parent.extend(child for child in children if child.tag in STAY)
    parent.extend(reversed(drawn))
    for child in drawn:
        _reorder(child)


def _turn_back(element: ET.Element) -> None:
    if points := element.get("points"):
        numbers = re.findall(r"[-+]?[\d.]+(?:[eE][-+]?\d+)?", points)
        pairs = list(zip(numbers[::2], numbers[1::2], strict=True))
        element.set("points", " ".join(f"{px},{py}" for px, py in reversed(pairs)))
    elif d := element.get("d"):
        parts = svgpathtools.parse_path(d).continuous_subpaths()
        element.set("d", " ".join(part.reversed().d() for part in reversed(parts)))
    elif element.tag == f"{SVG}line":
        ends = {key: element.get(key, "0") for key in ("x1", "y1", "x2", "y2")}
        for key, other in (("x1", "x2"), ("y1", "y2"), ("x2", "x1"), ("y2", "y1")):
            element.set(key, ends[other])
