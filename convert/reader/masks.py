"""Masks made of shapes that let everything through, or nothing.

Where a mask lets a part of the light through (greys, gradients, half-transparent shapes, blurred edges,
pictures), it can't be told what is a piece and what isn't: it is not followed, and that is said.

*Source*: CSS Masking 1 (masks by luminance and by alpha, units, the box of a mask).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.reader.document import UNDRAWN
from convert.reader.lengths import Along, Viewport
from convert.reader.matrices import multiply, translated
from convert.reader.outline import rectangle
from convert.reader.regions import MAX_PARTS, NOTHING, Content, Region, RegionPart, contents_of, last_of_each
from convert.reader.shapes import SHAPES, outline_of

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.document import Reading
    from convert.reader.matrices import Matrix
    from convert.reader.node import Node
    from convert.reader.outline import Outline
    from convert.reader.properties import Paint
    from convert.reader.regions import Surroundings

    Box = tuple[float, float, float, float]

_DARK, _LIGHT = 1e-3, 0.999
_FOLLOWED: Final = SHAPES | {"g", "a", "use"}
_SIDES: Final = (("x", Along.WIDTH, -0.1), ("y", Along.HEIGHT, -0.1), ("width", Along.WIDTH, 1.2),
                 ("height", Along.HEIGHT, 1.2))  # fmt: skip
"""The box of a mask where nothing is stated, as shares of the masked element's."""


def mask_regions(node: Node, at: Surroundings, reading: Reading) -> tuple[Region, ...]:
    """Return what an element's mask lets be seen; nothing that limits it where the mask is not followed."""
    reference = at.style.values["mask"]
    target = reading.target(reference.target, "mask")
    if target is None:
        if reference.target is None:
            _tell(node, f"the mask {reference.text[:60]} is not followed", reading)
        return ()
    style = reading.cascade.style(target, reading.around(target))
    box = at.box()
    if box is None:
        return (NOTHING,)
    in_box: Matrix = (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1])
    base = at.matrix
    if target.get("maskContentUnits") == "objectBoundingBox":
        base = multiply(base, in_box)
    parts = _parts(target, style, base, at.viewport, reading)
    if parts is None:
        _tell(node, "a mask that lets a part of the light through is not followed", reading)
        return ()
    # What is dark below everything takes nothing away.
    first = next((i for i, part in enumerate(parts) if part.shows), len(parts))
    parts = parts[first:]
    name = f"mask #{reference.target}"
    return Region(name, parts), _frame(name, target, style, at, in_box, reading)


def _tell(node: Node, what: str, reading: Reading) -> None:
    reading.remarks.add(
        "READ-037",
        f"{what}, and what it masks is taken whole",
        node,
        many=f"{what}, and the {{n}} shapes or groups that it masks are taken whole",
        advice="Cut the shapes themselves, or make the mask plain black and white",
    )


def _frame(
    name: str, target: Node, style: Style, at: Surroundings, in_box: Matrix, reading: Reading
) -> Region:
    """Return the box outside of which a mask lets nothing be seen."""
    from convert.reader.shapes import Measures

    own = target.get("maskUnits") != "userSpaceOnUse"
    whole = Viewport(1.0, 1.0) if own else at.viewport
    read = Measures(target, style, whole, reading.remarks)
    matrix = multiply(at.matrix, in_box) if own else at.matrix
    values = [read.maybe(side, along) for side, along, _ in _SIDES]
    x, y, width, height = (
        share * (whole.whole(along)) if value is None else value
        for value, (_, along, share) in zip(values, _SIDES, strict=True)
    )
    if width <= 0.0 or height <= 0.0:
        return Region(name, ())
    placed = translated(matrix, x, y)
    return Region(name, (RegionPart(placed, rectangle(0.0, 0.0, width, height, 0.0, 0.0), "nonzero"),))


def _parts(
    target: Node, style: Style, base: Matrix, viewport: Viewport, reading: Reading
) -> tuple[RegionPart, ...] | None:
    """Return the mask's shapes, in paint order; None when it lets a part of the light through somewhere."""
    if not _is_of_shapes(target):
        return None
    if any(style.values[name].text != "none" for name in ("mask", "filter")):
        return None
    by_alpha = style.values["mask-type"] == "alpha"
    parts: list[RegionPart] = []
    for content in contents_of(target, style, base, viewport, reading, groups=True):
        if not content.plain:
            return None
        outline = outline_of(content.node, content.style, viewport, reading.remarks)
        light = _light(content, outline, by_alpha=by_alpha)
        if light is None:
            continue
        if _DARK < light < _LIGHT:
            return None
        if len(parts) >= MAX_PARTS:
            return None
        rule = content.style.values["fill-rule"]
        parts.append(RegionPart(content.matrix, outline, rule, content.within, light >= _LIGHT))
    return last_of_each(parts)


def _is_of_shapes(holder: Node) -> bool:
    """Return whether all that a mask draws is shapes, in groups or not."""
    stack = list(holder.children)
    while stack:
        node = stack.pop()
        if node.tag in UNDRAWN or node.tag[0] == "{":
            continue
        if node.tag not in _FOLLOWED:
            return False
        stack.extend(node.children)
    return True


def _light(content: Content, outline: Outline, *, by_alpha: bool) -> float | None:
    """Return the share of light that a shape lets through, None when nothing of it is painted."""
    style = content.style
    fill = _through(style.paint("fill"), content.opacity, by_alpha=by_alpha) if outline.encloses else None
    stroke = _through(style.paint("stroke"), content.opacity, by_alpha=by_alpha)
    if stroke is not None and fill != stroke and outline.drawn:
        return 0.5  # the shape ends in the middle of its stroke: neither side of it would be right
    return fill


def _through(paint: Paint, opacity: float, *, by_alpha: bool) -> float | None:
    if paint.server is not None:
        return 0.5
    alpha = paint.alpha * opacity
    if paint.colour is None or alpha < _DARK:
        return None
    if by_alpha:
        return alpha
    return luminance(paint.colour) if alpha > _LIGHT else 0.5


def luminance(colour: str) -> float:
    """Return the share that a mask of this colour lets through. *Source*: CSS Masking 1, 7.10.1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return 0.2125 * red + 0.7154 * green + 0.0721 * blue
