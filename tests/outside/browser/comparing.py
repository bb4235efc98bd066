"""Compares what the reader makes of a document with what a browser shows of it, in px."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import hypot
from typing import Any

import numpy as np
from referee import OFF, STEP

from convert.errors import DrawingError
from convert.geometry.contain import windings
from convert.geometry.measure import lengths, nearest
from convert.reader import read_drawing_bytes
from convert.reader.drawing import FillRule

MM_PER_PX = 25.4 / 96
CLOSE = 1e-3
"""Px: what a browser is exact to, in single precision."""
ARC = 3e-4
"""Of the radius: how far a browser's cubics are from the arcs they stand for (2.7e-4, derived)."""


@dataclass(frozen=True)
class Ours:
    """A drawing in px, y down: its elements by name, and the segments of each."""

    drawing: Any
    names: list[str]
    tables: list[Any]


def read(data: bytes) -> Ours:
    """Read a document finely; one that shows nothing has no elements."""
    from convert.geometry.chain import Segments

    try:
        drawing = read_drawing_bytes(data, "x.svg", fit=2e-5)
    except DrawingError as fault:
        if fault.findings[0].code not in ("READ-018", "READ-014"):
            raise
        return Ours(None, [], [])
    height = drawing.page[1]
    s = drawing.segments
    flip = np.array([1.0, -1.0])
    start, end = ((p * flip + [0.0, height]) / MM_PER_PX for p in (s.start, s.end))
    whole = Segments(start, end, -s.bulge)
    tables = [whole.take(drawing.element_of == i) for i in range(len(drawing.elements))]
    return Ours(drawing, [e.id for e in drawing.elements], tables)


def paint_of(text: str) -> tuple[str, float] | None:
    """Return a computed paint as #rrggbb and opacity, None for none, ("url", 1) for a paint server."""
    if text in ("none", "context-fill", "context-stroke"):
        return None  # only markers and instances have a context
    if text.startswith("url"):
        address, _, fallback = text.partition(") ")
        if 'url("#no"' in address:
            return paint_of(fallback) if fallback else None
        return "url", 1.0
    match = re.fullmatch(r"rgba?\((\d+), (\d+), (\d+)(?:, ([\d.]+))?\)", text)
    assert match, text
    colour = "#" + "".join(f"{int(part):02x}" for part in match.groups()[:3])
    return colour, float(match[4] or 1)


def shown(row: dict[str, Any]) -> bool:
    """Return whether a browser paints anything of a shape."""
    if not row["drawn"] or row["visibility"] != "visible" or row["opacity"] == 0 or not row.get("length"):
        return False
    a, b, c, d, *_ = row["matrix"]
    if a * d - b * c == 0:
        return False
    width, height = row["box"][2] - row["box"][0], row["box"][3] - row["box"][1]
    if row["tag"] in ("rect", "ellipse", "circle") and not (width and height):
        return False
    fill, stroke = paint_of(row["fill"]), paint_of(row["stroke"])
    if not (width and height):
        fill = None
    filled = fill is not None and fill[1] * float(row["fillOpacity"]) > 0 and row["tag"] != "line"
    thick = float(re.match(r"[\d.e+-]+", row["strokeWidth"])[0])
    return filled or (stroke is not None and stroke[1] * float(row["strokeOpacity"]) > 0 and thick > 0)


def same_elements(ours: Ours, rows: list[dict[str, Any]], seen: list[list[str | None]]) -> None:
    """Check that the same shapes are shown, in the same order."""
    hit = {name for row in seen for name in row}

    def clipped_away(row: dict[str, Any]) -> bool:
        # Style doesn't tell; but a shape this large would be seen somewhere on the grid.
        large = min(row["box"][2] - row["box"][0], row["box"][3] - row["box"][1]) > 2 * STEP
        return large and row["name"] not in hit and row["name"] not in ours.names

    drawn = [row for row in rows if row["tag"] != "use" and shown(row)]
    browser = [row["name"] for row in drawn if not clipped_away(row)]
    assert [name for name in ours.names if "/" not in name] == browser


def same_paint(ours: Ours, rows: list[dict[str, Any]]) -> None:
    """Check that every shape has the browser's fill, opacity, rule, stroke and width."""
    by_name = {row["name"]: row for row in reversed(rows)}
    for name, element in zip(ours.names, ours.drawing.elements if ours.drawing else (), strict=True):
        row = by_name.get(name)
        if row is None:
            continue
        fill, stroke = paint_of(row["fill"]), paint_of(row["stroke"])
        if fill is not None and fill[0] != "url" and element.fill is not None:
            assert element.fill == fill[0], name
            opacity = fill[1] * float(row["fillOpacity"]) * row["opacity"]
            assert abs(element.fill_opacity - opacity) < 3e-3, (
                name,
                opacity,
            )  # alpha has 8 bits in a browser
            assert element.fill_rule is FillRule(row["fillRule"])
        if fill is None:
            assert element.fill is None, name
        if element.stroke is not None:
            assert stroke is not None
            assert element.stroke == stroke[0], name
            if row["strokeWidth"].endswith("px") and row["vectorEffect"] == "none":
                a, b, c, d, *_ = row["matrix"]
                width = float(row["strokeWidth"][:-2]) * abs(a * d - b * c) ** 0.5
                assert abs(element.stroke_width / MM_PER_PX - width) < 1e-3 * (1 + width), name


def _radius(table: Any) -> float:
    chord = np.hypot(*(table.end - table.start).T)
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = chord / 2 / np.abs(np.sin(2 * np.arctan(table.bulge)))
    return float(np.where(table.bulge == 0, 0, radius).max(initial=0.0))


def _back(points: np.ndarray, m: list[float]) -> np.ndarray:
    a, b, c, d, e, f = m
    det = a * d - b * c
    x, y = points[:, 0] - e, points[:, 1] - f
    return np.column_stack(((d * x - c * y) / det, (a * y - b * x) / det))


def _dense(table: Any) -> np.ndarray:
    """Return points along every segment, by inscribed angles."""
    t = np.linspace(0, 1, 65)
    sweep = 4 * np.arctan(table.bulge)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.where(sweep == 0, t, np.sin(t * sweep / 2) / np.sin(sweep / 2))
    turn = (t * sweep - sweep) / 2
    chord = (table.end - table.start)[:, None, :]
    x = chord[..., 0] * np.cos(turn) - chord[..., 1] * np.sin(turn)
    y = chord[..., 0] * np.sin(turn) + chord[..., 1] * np.cos(turn)
    return (table.start[:, None, :] + np.stack((x, y), axis=-1) * reach[..., None]).reshape(-1, 2)


def same_geometry(ours: Ours, rows: list[dict[str, Any]]) -> None:
    """Check that every shape lies where the browser's does: its points on ours, its box and length equal."""
    by_name = {row["name"]: row for row in reversed(rows)}
    clipped = _clipped(ours)
    for name, table, implied in zip(ours.names, ours.tables, _implied(ours), strict=True):
        row = by_name.get(name)
        if row is None or row["tag"] == "use" or "/" in name:
            continue
        drawn = table.take(~implied)
        m = row["matrix"]
        a, b, c, d, e, f = m
        scale = hypot(a, b) + hypot(c, d)
        slack = CLOSE + ARC * _radius(drawn) + 2e-6 * scale * np.abs(row["box"]).max()
        if name in clipped:
            continue
        points = np.array(row["points"][1:])  # the first one may be a stray move
        x, y = points.T
        moved = np.column_stack((a * x + c * y + e, b * x + d * y + f))
        distance = nearest(drawn, moved)[0]
        assert distance.max() <= slack, (name, float(distance.max()), slack)
        if abs(hypot(a, b) - hypot(c, d)) + abs(a * c + b * d) < 1e-9:
            length = row["length"] * hypot(a, b)
            # A browser measures curves along chords of theirs.
            chords = 8e-3 if drawn.is_arc.any() else 1e-6
            assert abs(lengths(drawn).sum() - length) <= 2 * slack + chords * length, (name, length)
        _same_box(drawn, m, row["box"], slack / (min(hypot(a, b), hypot(c, d)) or 1), name)


def _clipped(ours: Ours) -> set[str]:
    """Return the names of what was cut by a clip path or viewport: a browser's boxes ignore it."""
    if ours.drawing is None:
        return set()
    return {
        mention.element
        for noticed in ours.drawing.contents.noticed
        if noticed.code == "READ-047"
        for mention in noticed.elements
    }


def _implied(ours: Ours) -> list[np.ndarray]:
    d = ours.drawing
    return [d.implied[d.element_of == i] for i in range(len(ours.names))] if d else []


def _same_box(table: Any, m: list[float], box: list[float], slack: float, name: str) -> None:
    own = _back(_dense(table), m)
    got = [*own.min(axis=0), *own.max(axis=0)]
    # 64 steps along an arc of half a turn miss its farthest point by at most 3e-4 of the radius.
    wide = max(box[2] - box[0], box[3] - box[1])
    assert np.abs(np.array(got) - box).max() <= 2 * slack + 4e-4 * wide, (name, got, box)


def same_instances(ours: Ours, rows: list[dict[str, Any]]) -> None:
    """Check that what a `use` draws has the browser's box for it, in the use's own user space."""
    for row in rows:
        if row["tag"] != "use" or not row["drawn"]:
            continue
        tables = [t for n, t in zip(ours.names, ours.tables, strict=True) if n.startswith(row["name"] + "/")]
        if not tables or any(n.startswith(row["name"] + "/") for n in _clipped(ours)):
            continue  # what is left is seen in the picture
        own = np.concatenate([_back(_dense(t), row["matrix"]) for t in tables])
        got = np.array([*own.min(axis=0), *own.max(axis=0)])
        wide = np.ptp(own, axis=0).max()
        assert np.abs(got - row["box"]).max() <= CLOSE + 4e-4 * wide, (row["name"], got.tolist(), row["box"])


def same_picture(ours: Ours, rows: list[dict[str, Any]], seen: list[list[str | None]]) -> None:
    """Check that at every point that is not near a line the same shape is on top."""
    at = STEP / 2 + OFF + STEP * np.arange(len(seen))
    points = np.array([(x, y) for y in at for x in at])
    browser = [name for row in seen for name in row]
    top: list[str | None] = [None] * len(points)
    near = np.zeros(len(points), bool)
    elements = ours.drawing.elements if ours.drawing else ()
    for name, table, element in zip(ours.names, ours.tables, elements, strict=True):
        reach = 1.5 + element.stroke_width / MM_PER_PX
        near |= nearest(table, points)[0] < reach
        if element.fill is None:
            continue
        ring = np.zeros(len(points), np.int64)
        turns = windings(table, np.array([0, len(table)]), ring, points)
        inside = turns % 2 != 0 if element.fill_rule is FillRule.EVENODD else turns != 0
        for i in np.flatnonzero(inside):
            top[i] = name.split("/")[0]
    # A browser also finds what is painted with no opacity.
    clear = {r["name"] for r in rows if r["tag"] != "use" and r["drawn"] and not shown(r)}
    if ours.drawing:
        page = np.array(ours.drawing.page) / MM_PER_PX
        near |= ~((points > 1) & (points < page - 1)).all(axis=1)  # a page cuts off what we take whole
    wrong = [
        (points[i].tolist(), top[i], browser[i])
        for i in np.flatnonzero(~near)
        if top[i] != browser[i] and browser[i] not in clear
    ]
    assert not wrong, (len(wrong), wrong[:5])
