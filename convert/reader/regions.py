"""What limits where a shape is seen: clip paths, simple masks and the viewports of nested drawings.

*Source*: CSS Masking 1 (clipPath, mask, their units and contents), SVG 2, 8.9 and 14 (overflow).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final, NamedTuple

from convert.errors import DrawingError, Place
from convert.reader.extent import outline_box
from convert.reader.lengths import Along
from convert.reader.matrices import Matrix, multiply
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
    """One shape of a region: its matrix to the page's px, its outline and its fill rule.

    It counts only within the regions `within`. If it doesn't `show`, it takes away from what is before it.
    """

    matrix: Matrix
    outline: Outline
    rule: str
    within: tuple[Region, ...] = ()
    shows: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """Some shapes laid on one another; nothing is seen outside of them. `name` is what messages call it."""

    name: str
    parts: tuple[RegionPart, ...]

    def hides_as(self, other: Region) -> bool:
        """Tell whether two regions are one plain shape at one place, bit for bit."""
        if not len(self.parts) == len(other.parts) == 1:
            return False
        one, its = self.parts[0], other.parts[0]
        if one.within or its.within or not one.shows or not its.shows:
            return False
        drawn = [(part.outline.kind, part.outline.rows, part.outline.count) for part in (one, its)]
        return (one.matrix, one.rule, drawn[0]) == (its.matrix, its.rule, drawn[1])


MAX_CLIPS: Final = 60
MAX_PARTS: Final = 1_000
"""Shapes of one clip path or mask: each is looked at for each point that may be seen through it."""

_DEEPEST: Final = 20
_MOST_WITHIN: Final = 4
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


def clip_regions(
    node: Node, at: Surroundings, reading: Reading, inside: tuple[Node, ...] = ()
) -> Iterator[Region]:
    """Return the regions of an element's clip path and of those that clip it, but those of `inside`."""
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
    parts: list[RegionPart] = []
    inside = (*inside, target)
    for content in contents_of(target, style, base, at.viewport, reading, inside):
        outline = outline_of(content.node, content.style, at.viewport, reading.remarks)
        if len(parts) >= MAX_PARTS:
            what = f"a clip path has over {MAX_PARTS:,} shapes"
            place = Place(line=target.line, element=target.name)
            raise DrawingError.because("READ-039", what, "Clip by one path", place=place)
        if outline.kind:
            rule = content.style.values["clip-rule"]
            parts.append(RegionPart(content.matrix, outline, rule, content.within))
    yield Region(f"clip path #{reference.target}", last_of_each(parts))
    if style.values["clip-path"].text != "none":
        # Browsers reckon it where the clipped element stands, without the clip path's own transform.
        yield from clip_regions(target, at._replace(style=style), reading, inside)


def last_of_each(parts: list[RegionPart]) -> tuple[RegionPart, ...]:
    """Return parts without those that an equal one covers later."""
    found: dict[object, RegionPart] = {}
    for part in parts:
        rows = tuple(map(tuple, part.outline.rows))
        key = (part.matrix, tuple(part.outline.kind), rows, tuple(part.outline.count), part.rule, part.within)
        found.pop(key, None)
        found[key] = part
    return tuple(found.values())


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


class Content(NamedTuple):
    """A shape in a clip path or mask: its style, its matrix to the page's px, and what limits it there.

    `opacity` includes those of the groups around it; `plain` says that none has a mask or filter.
    """

    node: Node
    style: Style
    matrix: Matrix
    opacity: float
    within: tuple[Region, ...]
    plain: bool = True


def contents_of(
    holder: Node,
    style: Style,
    base: Matrix,
    viewport: Viewport,
    reading: Reading,
    inside: tuple[Node, ...] = (),
    *,
    groups: bool = False,
) -> Iterator[Content]:
    """Return the shapes in a clip path, also those that it takes by `use`; in a mask those in groups, too.

    `inside` are the clip paths that are being looked at: none of them clips its own parts.
    """
    start = Content(holder, style, base, 1.0, ())
    stack = [(child, start, 0) for child in reversed(holder.children)]
    while stack:
        node, outer, depth = stack.pop()
        reading.count_limiting(node)
        if node.tag not in SHAPES and node.tag not in ("use", "text", "g", "a"):
            continue
        own = reading.cascade.style(node, outer.style)
        if not own.shown:
            continue
        matrix = multiply(outer.matrix, reading.transform(node, own, viewport))
        if node.tag == "use":
            matrix = multiply(matrix, (1.0, 0.0, 0.0, 1.0, *reading.place(node, own, viewport)))
        within = outer.within
        if own.values["clip-path"].text != "none" and len(inside) > _MOST_WITHIN:
            what = f"clip paths on parts of clip paths are followed {_MOST_WITHIN} deep only"
            reading.remarks.add("READ-040", what, node, advice="Cut the shapes themselves")
        elif own.values["clip-path"].text != "none":
            at = Surroundings(own, matrix, viewport, partial(reading.box_inside, node, own, viewport))
            within = (*within, *clip_regions(node, at, reading, inside))
        plain = outer.plain and own.values["mask"].text == own.values["filter"].text == "none"
        here = Content(node, own, matrix, outer.opacity * own.opacity, within, plain)
        if node.tag in SHAPES:
            if own.visible:
                yield here
        elif node.tag == "use" and depth < _DEEPEST:
            goal = reading.used(node)
            if goal is not None and (groups or goal.tag in SHAPES):
                stack.append((goal, here, depth + 1))
        elif node.tag in ("g", "a") and groups:
            stack.extend((child, here, depth) for child in reversed(node.children))
        else:
            what = f"<{node.tag}> in a {holder.local_name} is not followed"
            reading.remarks.add("READ-040", what, node, advice="Turn it into a path")


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
    matrix, outline, _, within, shows = region.parts[0]
    if within or not shows:
        return None
    square = (matrix[1] == matrix[2] == 0.0) or (matrix[0] == matrix[3] == 0.0)
    if not square or len(outline.rows[0]) != 16 or len(outline.kind) != 4 or not outline.closed[0]:
        return None
    xs, ys = outline.rows[0][0::4], outline.rows[0][1::4]
    if len(set(xs)) != 2 or len(set(ys)) != 2:
        return None
    return outline_box(outline, matrix)
