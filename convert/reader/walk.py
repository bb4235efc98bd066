"""The walk through the document: which shapes are drawn, where, and how they are painted.

The walk obeys an allow-list. Whatever else it meets is reported, so that nothing is lost silently.
A shape drawn through `use` is a new shape each time, named by the chain of ids that led to it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cssselect2

from convert.errors import DrawingError, Finding, Place, Severity
from convert.reader.cascade import ROOT, Style, StyleSheet, computed, style_texts
from convert.reader.lengths import Context, user_units
from convert.reader.matrices import Matrix, about, apply, multiply, parse_transform, translation
from convert.reader.pathdata import PathFault, Subpath, parse_path
from convert.reader.shapes import ellipse, parse_points, polyline, rectangle
from convert.reader.viewport import parse_view_box, view_box_matrix
from convert.reader.xml_tree import SVG, XLINK

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from xml.etree.ElementTree import Element as Node

    from convert.reader.xml_tree import Document

MAX_INSTANCES = 400_000
"""Shapes that a drawing may show in all, instances counted: four for each piece of a very large one."""
MAX_DRAWN_DEPTH = 240
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_GROUPS = frozenset({"g", "a", "svg", "switch"})
_UNDRAWN = frozenset(
    {
        "defs",
        "style",
        "title",
        "desc",
        "metadata",
        "script",
        "symbol",
        "linearGradient",
        "radialGradient",
        "pattern",
        "mask",
        "clipPath",
        "marker",
        "filter",
        "animate",
        "animateTransform",
        "animateMotion",
        "set",
        "view",
        "stop",
        "font",
        "font-face",
        "cursor",
        "color-profile",
        "hatch",
        "meshgradient",
        "solidcolor",
    }
)
_PICTURES = frozenset({"image", "foreignObject", "video", "audio", "canvas", "iframe"})


@dataclass(frozen=True, slots=True)
class DrawnShape:
    """One visible shape: outline parts in its own user units, and the matrix to the page's pixels."""

    id: str
    tag: str
    line: int
    layers: tuple[str, ...]
    classes: tuple[str, ...]
    fill: str | None
    fill_opacity: float
    fill_rule: str
    stroke: str | None
    stroke_width: float
    matrix: Matrix
    subpaths: tuple[Subpath, ...]
    clips: tuple[Clip, ...]


@dataclass(frozen=True, slots=True)
class Clip:
    """A region outside which a shape is not seen: outlines and their matrix, and what it is called."""

    id: str
    rule: str
    shapes: tuple[tuple[Matrix, tuple[Subpath, ...]], ...]


@dataclass(frozen=True, slots=True)
class ShownText:
    """A text, and the middle of it as well as can be told without its font, in the page's pixels."""

    text: str
    at: tuple[float, float]
    id: str
    line: int


@dataclass(frozen=True, slots=True)
class _Where:
    """What a shape inherits from what stands around it."""

    style: Style
    matrix: Matrix
    context: Context
    layers: tuple[str, ...]
    chain: str
    clips: tuple[Clip, ...]
    uses: tuple[str, ...]


class Walk:
    """One pass over a document. `shapes`, `texts` and `findings` hold what it found, in paint order."""

    def __init__(self, document: Document, file: str, only: Sequence[str], skip: Sequence[str]) -> None:
        self.document, self.file = document, file
        self.only, self.skip = tuple(only), tuple(skip)
        self.shapes: list[DrawnShape] = []
        self.texts: list[ShownText] = []
        self.findings: list[Finding] = []
        self.unpainted = 0
        self.hidden = 0
        self._counts: dict[str, int] = {}
        self._reported: set[tuple[str, str]] = set()
        self._ids: dict[str, Node] = {}
        for node in document.root.iter():
            name = node.get("id")
            if name and name not in self._ids:
                self._ids[name] = node
        self.sheet = StyleSheet()
        for text in style_texts(document.root):
            self.sheet.add(text)
        self._wrapped: dict[Node, cssselect2.ElementWrapper] = {}
        if self.sheet.has_rules:
            top = cssselect2.ElementWrapper.from_xml_root(document.root)
            self._wrapped = {w.etree_element: w for w in top.iter_subtree()}
        for name in sorted(set(self.sheet.skipped)):
            self._remark(
                "READ-030", f"the style rule {name} is not understood and was left out", document.root
            )

    def run(self, matrix: Matrix, context: Context) -> None:
        """Walk the whole document; `matrix` and `context` are those inside the outermost svg."""
        root = self.document.root
        self._count(root, {}, [])
        style = computed(root, self._wrapped.get(root), self.sheet, ROOT, context)
        if not style.shown:
            return
        context = replace(context, font_size=style.font_size, root_font_size=style.font_size)
        where = _Where(style, matrix, context, (), "", (), ())
        for child in root:
            self._node(child, where)

    # -- structure

    def _count(self, node: Node, known: dict[Node, int], above: list[Node]) -> int:
        """Return how many shapes a node draws, instances expanded; refuse endless and enormous ones.

        Counting each node once makes this quick even where drawing would take for ever.
        """
        if node in known:
            return known[node]
        if node in above:
            raise self._refused("READ-020", "a `use` draws what it stands in, without end", "Remove it", node)
        if len(above) >= MAX_DRAWN_DEPTH:
            what = f"groups and instances are nested over {MAX_DRAWN_DEPTH} deep"
            raise self._refused("READ-021", what, "Turn instances into shapes", node)
        tag = _local(node)
        above.append(node)
        total = 1 if tag in _SHAPES else sum(self._count(child, known, above) for child in node)
        if tag == "use":
            goal = self._ids.get(_target(node)[1:])
            total = 1 if goal is None else self._count(goal, known, above)
        above.pop()
        if total > MAX_INSTANCES:
            what = f"instances make over {MAX_INSTANCES:,} shapes"
            raise self._refused("READ-022", what, "Turn fewer shapes into instances", node)
        known[node] = total
        return total

    def _refused(self, code: str, what: str, advice: str, node: Node) -> DrawingError:
        return DrawingError.because(code, what, advice, place=self._place(node))

    def _node(self, node: Node, where: _Where) -> None:
        tag = _local(node)
        if tag is None or tag in _UNDRAWN:
            return
        style = computed(node, self._wrapped.get(node), self.sheet, where.style, where.context)
        if not style.shown or style.opacity <= 0.0:
            self.hidden += 1
            return
        if tag in _PICTURES:
            self._remark("READ-031", f"<{tag}> holds no lines that can be pieced and was left out", node)
            return
        inside = replace(where, style=style, context=replace(where.context, font_size=style.font_size))
        inside = self._transformed(node, inside)
        inside = self._clipped(node, inside)
        if tag in _SHAPES:
            self._shape(node, tag, inside)
        elif tag == "text":
            self._text(node, inside)
        elif tag == "use":
            self._use(node, inside)
        elif tag == "svg":
            self._group(node, self._nested(node, inside, None, None))
        elif tag in _GROUPS:
            self._group(node, inside)
        else:
            self._remark("READ-032", f"<{tag}> is not part of SVG and was left out", node)

    def _group(self, node: Node, where: _Where) -> None:
        name = _layer_name(node)
        if name is not None:
            where = replace(where, layers=(*where.layers, name))
        children = list(node)
        if _local(node) == "switch":
            children = [c for c in children if _local(c) not in (None, *_UNDRAWN) and _passes(c)][:1]
        for child in children:
            self._node(child, where)

    def _use(self, node: Node, where: _Where) -> None:
        target = _target(node)
        if not target.startswith("#"):
            what = f"a `use` points outside the file ({target})" if target else "a `use` points to nothing"
            self._remark("READ-033", what + " and draws nothing", node)
            return
        name = target[1:]
        goal = self._ids.get(name)
        if goal is None:
            self._remark(
                "READ-034", f"a `use` points to #{name}, which is not in the file, and draws nothing", node
            )
            return
        x, y = self._length(node, where, "x", "x"), self._length(node, where, "y", "y")
        own = self._name(node, "use", where)
        layer = _layer_name(node)
        layers = where.layers if layer is None else (*where.layers, layer)
        inside = replace(
            where,
            matrix=multiply(where.matrix, translation(x, y)),
            chain=own + "/",
            uses=(*where.uses, name),
            layers=layers,
        )
        tag = _local(goal)
        if tag in ("symbol", "svg"):
            style = computed(goal, self._wrapped.get(goal), self.sheet, inside.style, inside.context)
            if not style.shown or style.opacity <= 0.0:
                self.hidden += 1
                return
            inside = replace(inside, style=style)
            inside = self._transformed(goal, inside)
            width = node.get("width") if _is_given(node.get("width")) else None
            height = node.get("height") if _is_given(node.get("height")) else None
            self._group(goal, self._nested(goal, inside, width, height))
        elif tag is not None:
            self._node(goal, inside)

    def _nested(self, node: Node, where: _Where, width: str | None, height: str | None) -> _Where:
        """Return the inside of a nested svg, or of a symbol, whose size a `use` may set."""
        context = where.context
        x = self._length(node, where, "x", "x") if _local(node) == "svg" else 0.0
        y = self._length(node, where, "y", "y") if _local(node) == "svg" else 0.0
        wide = user_units(width or _given(node, where.style, "width") or "100%", context, "x")
        high = user_units(height or _given(node, where.style, "height") or "100%", context, "y")
        wide, high = context.width if wide is None else wide, context.height if high is None else high
        box = parse_view_box(node.get("viewBox"))
        placed = multiply(where.matrix, translation(x, y))
        clips = where.clips
        if where.style.own["overflow"].lower() not in ("visible", "auto"):
            edge = rectangle(0.0, 0.0, wide, high, None, None)
            name = node.get("id") or _local(node) or "svg"
            clips = (*clips, Clip(f"viewport of {name}", "nonzero", ((placed, tuple(edge)),)))
        matrix = multiply(placed, view_box_matrix(box, node.get("preserveAspectRatio"), wide, high))
        inner = (
            replace(context, width=box[2], height=box[3])
            if box
            else replace(context, width=wide, height=high)
        )
        return replace(where, matrix=matrix, context=inner, clips=clips)

    def _transformed(self, node: Node, where: _Where) -> _Where:
        own = where.style.own
        text = own["transform"] or node.get("transform", "")
        if not text:
            return where
        matrix = parse_transform(text)
        if matrix is None:
            self._remark("READ-035", f"the transform {text[:60]!r} is not understood and was left out", node)
            return where
        origin = own["transform-origin"]
        if origin:
            if own["transform-box"].lower() not in ("view-box", ""):
                self._remark("READ-036", f"transform-box {own['transform-box']} is not followed", node)
            matrix = about(_origin(origin, where.context), matrix)
        return replace(where, matrix=multiply(where.matrix, matrix))

    # -- clipping

    def _clipped(self, node: Node, where: _Where) -> _Where:
        own = where.style.own
        for name in ("mask", "filter"):
            if own[name].lower() not in ("none", ""):
                self._remark(
                    "READ-037", f"a {name} is not followed: the shape is taken as drawn without it", node
                )
        text = own["clip-path"]
        if text.lower() in ("none", ""):
            return where
        target = (
            text[text.find("#") + 1 : text.find(")")].strip("'\" ") if "#" in text and ")" in text else ""
        )
        goal = self._ids.get(target)
        if goal is None or _local(goal) != "clipPath":
            self._remark(
                "READ-038", f"the clip path {text} is not followed: the shape is taken as drawn", node
            )
            return where
        if goal.get("clipPathUnits") == "objectBoundingBox":
            self._remark("READ-039", f"clip path #{target} uses bounding box units and is not followed", node)
            return where
        style = computed(goal, self._wrapped.get(goal), self.sheet, where.style, where.context)
        base = self._transformed(goal, replace(where, style=style))
        region = []
        rule = "nonzero"
        for child in goal:
            tag = _local(child)
            if tag in _SHAPES:
                own_style = computed(child, self._wrapped.get(child), self.sheet, base.style, base.context)
                if own_style.shown and own_style.values["visibility"].lower() == "visible":
                    inner = self._transformed(child, replace(base, style=own_style))
                    region.append((inner.matrix, tuple(self._outline(child, tag, inner))))
                    rule = own_style.values["clip-rule"].lower()
            elif tag is not None and tag not in _UNDRAWN:
                self._remark("READ-040", f"<{tag}> in clip path #{target} is not followed", node)
        return replace(where, clips=(*where.clips, Clip(f"clip path #{target}", rule, tuple(region))))

    # -- shapes

    def _shape(self, node: Node, tag: str, where: _Where) -> None:
        style = where.style
        name = self._name(node, tag, where)
        if style.values["visibility"].lower() != "visible":
            self.hidden += 1
            return
        fill, fill_share = style.paint("fill")
        stroke, stroke_share = style.paint("stroke")
        fill = None if tag == "line" else self._existing(fill)
        stroke = self._existing(stroke)
        width = float(style.values["stroke-width"])
        if fill_share <= 0.0:
            fill = None
        if stroke_share <= 0.0 or width <= 0.0:
            stroke = None
        if fill is None and stroke is None:
            self.unpainted += 1
            return
        layers, classes = where.layers, tuple((node.get("class") or "").split())
        title = _layer_name(node, own_id=False)
        if not self._wanted((*layers, *classes, *((title,) if title else ()), name)):
            return
        outline = tuple(self._outline(node, tag, where))
        if not outline:
            return
        scale = abs(where.matrix[0] * where.matrix[3] - where.matrix[1] * where.matrix[2]) ** 0.5
        thick = width if style.own["vector-effect"].lower() == "non-scaling-stroke" else width * scale
        self.shapes.append(
            DrawnShape(
                name,
                tag,
                self._line(node),
                layers,
                classes,
                fill,
                fill_share * style.opacity,
                style.values["fill-rule"].lower(),
                stroke,
                thick,
                where.matrix,
                outline,
                where.clips,
            )
        )

    def _wanted(self, names: tuple[str, ...]) -> bool:
        from fnmatch import fnmatchcase

        def any_of(patterns: tuple[str, ...]) -> bool:
            return any(fnmatchcase(name, pattern) for name in names for pattern in patterns)

        return (not self.only or any_of(self.only)) and not any_of(self.skip)

    def _existing(self, paint: str | None) -> str | None:
        """Return the paint, or None for a paint server that isn't there (SVG 2, 13.2)."""
        if paint is not None and paint.startswith("url("):
            return paint if paint[4:-1].strip().lstrip("#") in self._ids else None
        return paint

    def _outline(self, node: Node, tag: str, where: _Where) -> Sequence[Subpath]:
        if tag == "path":
            data = where.style.own["d"]
            data = (
                data[data.find("(") + 1 : data.rfind(")")].strip("'\" ") if "(" in data else node.get("d", "")
            )
            outline, fault = parse_path(data)
            self._fault(node, "path data", fault)
            return outline
        if tag in ("polyline", "polygon"):
            points, fault = parse_points(node.get("points", ""))
            self._fault(node, "the list of points", fault)
            return polyline(points, closed=tag == "polygon")
        if tag == "line":
            ends = [
                (self._length(node, where, a, "x"), self._length(node, where, b, "y"))
                for a, b in (("x1", "y1"), ("x2", "y2"))
            ]
            return polyline(ends, closed=False)
        if tag == "rect":
            x, y = self._length(node, where, "x", "x"), self._length(node, where, "y", "y")
            wide, high = self._length(node, where, "width", "x"), self._length(node, where, "height", "y")
            return rectangle(
                x, y, wide, high, self._maybe(node, where, "rx", "x"), self._maybe(node, where, "ry", "y")
            )
        cx, cy = self._length(node, where, "cx", "x"), self._length(node, where, "cy", "y")
        if tag == "circle":
            r = self._length(node, where, "r", "other")
            return ellipse(cx, cy, r, r)
        rx, ry = self._maybe(node, where, "rx", "x"), self._maybe(node, where, "ry", "y")
        return ellipse(cx, cy, (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0)

    def _fault(self, node: Node, what: str, fault: PathFault | None) -> None:
        if fault is not None:
            self._remark(
                "READ-041",
                f"{what} has an error at character {fault.character}: {fault.what}; it is drawn up to there",
                node,
                key=str(id(node)),
            )

    def _maybe(self, node: Node, where: _Where, name: str, along: str) -> float | None:
        """Return a radius, or None for auto, for nothing and for what is not a length or negative."""
        text = _given(node, where.style, name)
        value = user_units(text, where.context, along) if text else None
        return None if value is None or value < 0.0 else value

    def _length(self, node: Node, where: _Where, name: str, along: str) -> float:
        text = _given(node, where.style, name)
        if not text or text.lower() == "auto":
            return 0.0
        value = user_units(text, where.context, along)
        if value is None:
            self._remark("READ-042", f"{name}={text[:40]!r} is not a length and counts as 0", node, key=name)
            return 0.0
        return value

    def _text(self, node: Node, where: _Where) -> None:
        text = " ".join("".join(t for t in _shown_text(node)).split())
        if not text or where.style.values["visibility"].lower() != "visible":
            return
        holders = (node, *node.iter(SVG + "tspan"), *node.iter("tspan"))
        place = []
        for name, along in (("x", "x"), ("y", "y")):
            given = next((h.get(name) for h in holders if h.get(name)), None)
            first = given.replace(",", " ").split()[0] if given and given.strip() else "0"
            place.append(user_units(first, where.context, along) or 0.0)
        # Half an em a letter, and capitals of 0.7 em: usual proportions of text faces (from memory).
        width = 0.5 * where.style.font_size * len(text)
        anchor = where.style.values["text-anchor"].lower()
        x = place[0] + {"start": 0.5, "middle": 0.0, "end": -0.5}.get(anchor, 0.5) * width
        at = apply(where.matrix, x, place[1] - 0.35 * where.style.font_size)
        self.texts.append(ShownText(text, at, self._name(node, "text", where), self._line(node)))

    # -- names and remarks

    def _name(self, node: Node, tag: str, where: _Where) -> str:
        own = node.get("id")
        if own:
            return where.chain + own
        if where.chain:
            return where.chain + tag
        self._counts[tag] = self._counts.get(tag, 0) + 1
        return f"{tag}[{self._counts[tag]}]"

    def _line(self, node: Node) -> int:
        return self.document.lines.get(node, 0)

    def _place(self, node: Node) -> Place:
        return Place(file=self.file, line=self._line(node), element=node.get("id") or f"<{_local(node)}>")

    def _remark(self, code: str, what: str, node: Node, key: str = "") -> None:
        """Add a warning, once for each code and place however often the element is used."""
        seen = (code, key or f"{self._line(node)}:{what}")
        if seen not in self._reported:
            self._reported.add(seen)
            self.findings.append(Finding(code, Severity.WARNING, what, "", self._place(node)))


def _local(node: Node) -> str | None:
    """Return the SVG name of an element, or None for a foreign one."""
    tag = node.tag
    if tag.startswith(SVG):
        return tag[len(SVG) :]
    return None if tag.startswith("{") else tag


def _target(node: Node) -> str:
    """Return what a `use` points to."""
    return node.get("href", node.get(XLINK + "href", "")).strip()


def _given(node: Node, style: Style, name: str) -> str:
    return style.own.get(name) or node.get(name, "").strip()


def _is_given(text: str | None) -> bool:
    return bool(text) and text is not None and text.strip().lower() != "auto"


def _layer_name(node: Node, *, own_id: bool = True) -> str | None:
    """Return a group's title, else any foreign attribute called label, else its id."""
    for child in node:
        if _local(child) == "title" and (child.text or "").strip():
            return (child.text or "").strip()
    for key, value in node.items():
        if key.startswith("{") and key.endswith("}label") and value.strip():
            return value.strip()
    return node.get("id") if own_id else None


def _passes(node: Node) -> bool:
    """Return whether a child of <switch> may be drawn (SVG 2, 5.9)."""
    if node.get("requiredExtensions") is not None:
        return False
    languages = node.get("systemLanguage")
    return languages is None or any(part.strip().lower().startswith("en") for part in languages.split(","))


def _shown_text(node: Node) -> list[str]:
    found = [node.text or ""]
    for child in node:
        if _local(child) in ("tspan", "textPath", "a"):
            found.extend(_shown_text(child))
        found.append(child.tail or "")
    return found


def _origin(text: str, context: Context) -> tuple[float, float]:
    """Return transform-origin in user units; percentages and words refer to the viewport."""
    words: Mapping[str, str] = {"left": "0%", "right": "100%", "top": "0%", "bottom": "100%", "center": "50%"}
    parts = text.replace(",", " ").split()[:2]
    if len(parts) == 1:
        parts = ["50%", parts[0]] if parts[0].lower() in ("top", "bottom") else [parts[0], "50%"]
    if parts[0].lower() in ("top", "bottom") or parts[1].lower() in ("left", "right"):
        parts = parts[::-1]
    x = user_units(words.get(parts[0].lower(), parts[0]), context, "x")
    y = user_units(words.get(parts[1].lower(), parts[1]), context, "y")
    return x or 0.0, y or 0.0
