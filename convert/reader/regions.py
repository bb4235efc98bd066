"""What limits where a shape is seen: clip paths, simple masks and the viewports of nested drawings.

*Source*: CSS Masking 1 (clipPath, mask, their units and contents), SVG 2, 8.9 and 14 (overflow).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from convert.errors import DrawingError, Place
from convert.reader.extent import outline_box
from convert.reader.lengths import Along
from convert.reader.matrices import Matrix, multiply
from convert.reader.node import HREF
from convert.reader.outline import Outline, rectangle
from convert.reader.shapes import SHAPES, outline_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from convert.reader.cascade import Style
    from convert.reader.document import Reading
    from convert.reader.lengths import Viewport
    from convert.reader.node import Node

    Box = tuple[float, float, float, float]


class RegionPart(NamedTuple):
    """One shape of a region: its matrix to the page's px, its outline and its fill rule."""

    matrix: Matrix
    outline: Outline
    rule: str


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """The union of some shapes; nothing is seen outside of it. `name` is what to call it in a message."""

    name: str
    parts: tuple[RegionPart, ...]


MAX_CLIPS: Final = 60

NOTHING: Final = Region("an empty clip path", ())


def viewport_region(name: str, matrix: Matrix, width: float, height: float) -> Region:
    """Return the region of a nested drawing that hides what overflows it."""
    return Region(name, (RegionPart(matrix, rectangle(0.0, 0.0, width, height, 0.0, 0.0), "nonzero"),))


class Surroundings(NamedTuple):
    """Where a clipped element stands: style, matrix and viewport of its own user space, and its box there."""

    style: Style
    matrix: Matrix
    viewport: Viewport
    box: Callable[[], Box | None]


def regions_of(node: Node, at: Surroundings, reading: Reading) -> tuple[Region, ...]:
    """Return all regions outside which an element isn't seen; NOTHING among them when it isn't at all."""
    found: list[Region] = []
    values = at.style.values
    if values["clip-path"].text != "none":
        found.extend(_clip_path(node, at, reading, ()))
    if values["mask"].text != "none":
        mask = _mask(node, at, reading)
        if mask is not None:
            found.append(mask)
    if values["filter"].text != "none":
        target = reading.target(values["filter"].target, "filter")
        if target is not None and not target.children:
            found.append(Region("an empty filter", ()))
        elif target is not None or values["filter"].target is None:
            reading.remarks.note("READ-037", "a filter (such as a shadow or blur) was left out", node)
    return tuple(found)


def _clip_path(node: Node, at: Surroundings, reading: Reading, inside: tuple[Node, ...]) -> Iterator[Region]:
    reference = at.style.values["clip-path"]
    if reference.target is None:
        shape = _basic_shape(node, reference.text, at)
        if shape is not None:
            outline, rule = shape
            part = RegionPart(at.matrix, outline, rule)
            yield Region(f"clip path {reference.text[:40]}", (part,) if outline.kind else ())
            return
        what = f"the clip path {reference.text[:60]} is not followed, and the shape is taken whole"
        reading.remarks.add("READ-038", what, node, advice="Cut the shape itself")
        return
    target = reading.target(reference.target, "clipPath")
    if target is None:
        reading.remarks.note(
            "READ-038", f"there is no clip path #{reference.target}, so nothing is clipped", node
        )
        return
    if target in inside:
        yield NOTHING
        return
    if len(inside) >= MAX_CLIPS:
        what = f"clip paths are clipped by others over {MAX_CLIPS} deep"
        place = Place(line=node.line, element=node.name)
        raise DrawingError.because("READ-039", what, "Cut the shapes themselves", place=place)
    style = reading.cascade.style(target, reading.around(target))
    base = multiply(at.matrix, reading.transform(target, style, at.viewport))
    if target.get("clipPathUnits") == "objectBoundingBox":
        box = at.box()
        if box is None:
            yield NOTHING
            return
        base = multiply(base, (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1]))
    parts = []
    for child, child_style, matrix in _contents(target, style, base, at.viewport, reading):
        if child_style.values["clip-path"].text != "none":
            reading.remarks.add("READ-040", "a clip path on a part of a clip path is not followed", child)
        outline = outline_of(child, child_style, at.viewport, reading.remarks)
        if outline.kind:
            parts.append(RegionPart(matrix, outline, child_style.values["clip-rule"]))
    yield Region(f"clip path #{reference.target}", tuple(parts))
    if style.values["clip-path"].text != "none":
        yield from _clip_path(target, at._replace(style=style, matrix=base), reading, (*inside, target))


def _basic_shape(node: Node, text: str, at: Surroundings) -> tuple[Outline, str] | None:
    """Return a style sheet's shape; its reference box is the element's own, with its stroke, or the viewport.

    The stroke is taken to widen the box by half its width, whatever its corners do.
    """
    from convert.reader.basic_shapes import basic_shape

    def box(name: str) -> Box | None:
        if name == "view-box":
            return 0.0, 0.0, at.viewport.width, at.viewport.height
        own = at.box()
        stroke = at.style.paint("stroke")
        if own is None or name in ("fill-box", "content-box", "padding-box") or node.tag not in SHAPES:
            return own
        if stroke.colour is None and stroke.server is None:
            return own
        width = at.style.values["stroke-width"]
        half = width.user_units(at.viewport, at.style.font_size, Along.DIAGONAL) / 2.0
        return own[0] - half, own[1] - half, own[2] + half, own[3] + half

    return basic_shape(text, box, at.style.font_size, at.viewport.root_font_size)


def _contents(
    holder: Node, style: Style, base: Matrix, viewport: Viewport, reading: Reading, *, groups: bool = False
) -> Iterator[tuple[Node, Style, Matrix]]:
    """Return the shapes in a clip path, also those that it takes by `use`; in a mask those in groups, too."""
    stack = [(child, style, base, 0) for child in reversed(holder.children)]
    while stack:
        node, around, outer, depth = stack.pop()
        reading.count_limiting(node)
        if node.tag in SHAPES or node.tag in ("use", "text", "g", "a"):
            own = reading.cascade.style(node, around)
            if not own.shown:
                continue
            matrix = multiply(outer, reading.transform(node, own, viewport))
            if node.tag in SHAPES:
                if own.visible:
                    yield node, own, matrix
            elif node.tag == "use" and depth < 20:
                goal = reading.ids.get((node.get("href") or node.get(HREF)).strip().removeprefix("#"))
                if goal is not None and (groups or goal.tag in SHAPES):
                    matrix = multiply(matrix, (1.0, 0.0, 0.0, 1.0, *reading.place(node, own, viewport)))
                    stack.append((goal, own, matrix, depth + 1))
            elif node.tag in ("g", "a") and groups:
                stack.extend((child, own, matrix, depth) for child in reversed(node.children))
            else:
                reading.remarks.add(
                    "READ-040", f"<{node.tag}> in a {holder.local_name} is not followed", node
                )


def _mask(node: Node, at: Surroundings, reading: Reading) -> Region | None:
    """Return the region that a mask of plain white shapes lets be seen; any other is told, not followed."""
    reference = at.style.values["mask"]
    target = reading.target(reference.target, "mask")
    if target is None:
        return None
    style = reading.cascade.style(target, reading.around(target))
    base = at.matrix
    if target.get("maskContentUnits") == "objectBoundingBox":
        box = at.box()
        if box is None:
            return NOTHING
        base = multiply(base, (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1]))
    parts: list[RegionPart] = []
    lets_through = []
    for child, own, matrix in _contents(target, style, base, at.viewport, reading, groups=True):
        outline = outline_of(child, own, at.viewport, reading.remarks)
        fill, stroke = own.paint("fill"), own.paint("stroke")
        light = 0.0
        if fill.server is not None or (stroke.colour is not None and stroke.colour != "#000000"):
            light = 0.5
        elif fill.colour is not None and outline.encloses:
            light = fill.alpha * own.opacity * _luminance(fill.colour)
        lets_through.append(light)
        if light > 0.0:
            parts.append(RegionPart(matrix, outline, own.values["fill-rule"]))
    if all(light < 1e-3 for light in lets_through):
        return Region(f"mask #{reference.target}", ())
    if all(light > 0.999 for light in lets_through):
        return Region(f"mask #{reference.target}", tuple(parts))
    what = "a mask that is not plainly white is not followed, and what it masks is taken whole"
    reading.remarks.add("READ-037", what, node, advice="Cut the shapes themselves")
    return None


def _luminance(colour: str) -> float:
    """Return the share that a mask of this colour lets through. *Source*: CSS Masking 1, 7.10.1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return 0.2125 * red + 0.7154 * green + 0.0721 * blue


def box_of(parts: list[tuple[Matrix, Outline]]) -> Box | None:
    """Return the box round some outlines, or None when there are none."""
    boxes = [outline_box(outline, matrix) for matrix, outline in parts if outline.kind]
    if not boxes:
        return None
    return (
        min(b[0] for b in boxes), min(b[1] for b in boxes),
        max(b[2] for b in boxes), max(b[3] for b in boxes),
    )  # fmt: skip


def axis_parallel(region: Region) -> Box | None:
    """Return the box in px that a region is, when it is one rectangle parallel to the page."""
    if len(region.parts) != 1:
        return None
    matrix, outline, _ = region.parts[0]
    square = (matrix[1] == matrix[2] == 0.0) or (matrix[0] == matrix[3] == 0.0)
    if not square or len(outline.rows[0]) != 16 or len(outline.kind) != 4 or not outline.closed[0]:
        return None
    xs, ys = outline.rows[0][0::4], outline.rows[0][1::4]
    if len(set(xs)) != 2 or len(set(ys)) != 2:
        return None
    return outline_box(outline, matrix)
