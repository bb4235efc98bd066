"""What the walk and the regions both need of a document: styles, references, transforms, boxes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from convert.errors import DrawingError, Place
from convert.reader.cascade import INITIAL, Cascade
from convert.reader.lengths import Along, Length
from convert.reader.matrices import IDENTITY, about, multiply, parse_attribute, parse_style, separate_style
from convert.reader.node import HREF
from convert.reader.regions import box_of
from convert.reader.shapes import SHAPES, Measures, outline_of

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.lengths import Viewport
    from convert.reader.matrices import Matrix
    from convert.reader.node import Node
    from convert.reader.outline import Outline
    from convert.reader.remarks import Remarks
    from convert.reader.stylesheet import Rules
    from convert.reader.xml_tree import Document

    Box = tuple[float, float, float, float]

GROUPS: Final = frozenset({"g", "a", "switch"})
UNDRAWN: Final = frozenset({
    "defs", "style", "title", "desc", "metadata", "script", "symbol", "linearGradient",
    "radialGradient", "pattern", "mask", "clipPath", "marker", "filter", "view", "stop", "font",
    "font-face", "cursor", "color-profile", "hatch", "hatchpath", "meshgradient", "solidcolor", "glyph",
    "missing-glyph", "hkern", "vkern", "link", "meta",
})  # fmt: skip
"""What is never drawn where it stands."""
MAX_BOXES: Final = 60
MAX_LIMITING: Final = 400_000
"""Elements of clip paths and masks, counted anew for each element that they limit: four for each piece."""
_NO_ORIGIN: Final = (Length(0.0), Length(0.0))


class Reading:
    """A document being read."""

    def __init__(self, document: Document, remarks: Remarks) -> None:
        self.root, self.ids, self.remarks = document.root, document.ids, remarks
        self.cascade = Cascade(_rules(document.root, remarks))
        self._boxes: dict[tuple[Node, Style, Viewport], Box | None] = {}
        self._boxes_open = self._limiting = 0

    def target(self, name: str | None, tag: str) -> Node | None:
        """Return the element with this id, if it has this tag."""
        found = self.ids.get(name) if name else None
        return found if found is not None and found.tag == tag else None

    def around(self, node: Node) -> Style:
        """Return the style that an element inherits where it stands in the document."""
        style = INITIAL
        for outer in reversed(list(node.ancestors)):
            style = self.cascade.style(outer, style)
        return style

    def place(self, node: Node, style: Style, viewport: Viewport) -> tuple[float, float]:
        """Return x and y of an element, 0 where it has none."""
        read = Measures(node, style, viewport, self.remarks)
        return read.length("x", Along.WIDTH), read.length("y", Along.HEIGHT)

    def transform(
        self, node: Node, style: Style, viewport: Viewport, origin: tuple[float, float] | None = None
    ) -> Matrix:
        """Return the map from inside an element to around it, as `transform` has it.

        `origin` is used instead of the element's transform-origin.
        *Errors*: DrawingError READ-016 when it makes things infinite.
        """
        before = separate_style(style.geometry)
        text = style.geometry.get("transform")
        if text is not None:
            matrix = self._styled(text, node, style, viewport)
        else:
            text = node.attrib.get("transform", "")
            if not text and not before:
                return IDENTITY
            matrix = parse_attribute(text) if text else IDENTITY
        if before and matrix is not None:
            moved = self._styled(before, node, style, viewport)
            matrix = None if moved is None else multiply(moved, matrix)
        if matrix is None:
            what = f"the transform {text[:60]!r} is not one that a browser knows, and is left out"
            self.remarks.add("READ-035", what, node, advice="Look whether something is missing in it")
            return IDENTITY
        own = style.values["transform-origin"]
        at_zero = own == _NO_ORIGIN and style.values["transform-box"] == "view-box"
        if origin is None and not at_zero and matrix != IDENTITY:
            origin = self._origin(node, style, viewport, own)
        return matrix if origin is None else about(origin, matrix)

    def _styled(self, text: str, node: Node, style: Style, viewport: Viewport) -> Matrix | None:
        box = self._reference_box(node, style, viewport) if "%" in text else (0.0, 0.0, 0.0, 0.0)
        return parse_style(text, viewport, style.font_size, (box[2] - box[0], box[3] - box[1]))

    def _origin(
        self, node: Node, style: Style, viewport: Viewport, origin: tuple[Length, Length]
    ) -> tuple[float, float]:
        left, top, right, bottom = self._reference_box(node, style, viewport)
        x, y = (
            length._replace(share=0.0).user_units(viewport, style.font_size, Along.WIDTH)
            + length.share * size
            for length, size in zip(origin, (right - left, bottom - top), strict=True)
        )
        return left + x, top + y

    def _reference_box(self, node: Node, style: Style, viewport: Viewport) -> Box:
        """Return the box that transform-box names. *Source*: CSS Transforms 1, 6 (transform-box)."""
        if style.values["transform-box"] == "view-box":
            return 0.0, 0.0, viewport.width, viewport.height
        if style.values["transform-box"] in ("border-box", "stroke-box"):
            self.remarks.add("READ-036", "transform-box: stroke-box is taken as fill-box", node)
        return self.box(node, style, viewport) or (0.0, 0.0, 0.0, 0.0)

    def count_limiting(self, node: Node) -> None:
        """Count an element of a clip path or mask that is used. *Errors*: DrawingError READ-022."""
        self._limiting += 1
        if self._limiting > MAX_LIMITING:
            what = f"clip paths and masks make over {MAX_LIMITING:,} elements"
            place = Place(line=node.line, element=node.name)
            raise DrawingError.because("READ-022", what, "Cut the shapes themselves", place=place)

    def box_inside(self, node: Node, style: Style, viewport: Viewport) -> Box | None:
        """Return the box of an element in the system that its contents are in, that of a `use` moved."""
        box = self.box(node, style, viewport)
        if box is None or node.tag != "use":
            return box
        x, y = self.place(node, style, viewport)
        return box[0] - x, box[1] - y, box[2] - x, box[3] - y

    def box(self, node: Node, style: Style, viewport: Viewport) -> Box | None:
        """Return the box round an element's geometry in its own user space, painted or not.

        *Errors*: DrawingError READ-019 when too many boxes decide about each other.
        """
        key = (node, style, viewport)
        if key not in self._boxes:
            # A transform inside may refer to a box in its turn.
            if self._boxes_open >= MAX_BOXES:
                what = f"transforms refer to boxes that depend on others over {MAX_BOXES} deep"
                place = Place(line=node.line, element=node.name)
                raise DrawingError.because("READ-019", what, "Leave transform-box out", place=place)
            self._boxes_open += 1
            self._boxes[key] = self._box(node, style, viewport)
            self._boxes_open -= 1
        return self._boxes[key]

    def _box(self, node: Node, style: Style, viewport: Viewport) -> Box | None:
        parts: list[tuple[Matrix, Outline]] = []
        stack: list[tuple[Node, Style, Matrix, int]] = [(node, style, IDENTITY, 0)]
        while stack:
            at, own, matrix, depth = stack.pop()
            if at.tag in SHAPES:
                parts.append((matrix, outline_of(at, own, viewport, self.remarks)))
                continue
            children = at.children
            if at.tag == "use" and depth < 20:
                goal = self.used(at)
                children = [] if goal is None else [goal]
                matrix = multiply(matrix, (1.0, 0.0, 0.0, 1.0, *self.place(at, own, viewport)))
                depth += 1
            elif at.tag not in GROUPS:
                if at.tag in ("svg", "text", "image", "symbol"):
                    self.remarks.add(
                        "READ-036", f"the size of a <{at.tag}> is not known where it decides a box", at
                    )
                continue
            for child in children:
                if (
                    child.tag in SHAPES
                    or child.tag in GROUPS
                    or child.tag in ("use", "svg", "text", "image", "symbol")
                ):
                    style_of = self.cascade.style(child, own)
                    if style_of.shown:
                        inner = multiply(matrix, self.transform(child, style_of, viewport))
                        stack.append((child, style_of, inner, depth))
        return box_of(parts)

    def used(self, node: Node) -> Node | None:
        """Return the element that a `use` draws, or None when it isn't in this file."""
        address = (node.attrib.get("href") or node.get(HREF)).strip()
        return self.ids.get(address[1:]) if address.startswith("#") else None


def _rules(root: Node, remarks: Remarks) -> Rules | None:
    if not any(node.tag == "style" for node in root.subtree()):
        return None
    from convert.reader.stylesheet import Rules, style_texts

    texts, doubtful = style_texts(root)
    rules = Rules(texts)
    for what in dict.fromkeys((*doubtful, *rules.skipped)):
        remarks.add(
            "READ-030",
            f"{what[:100]} in a style sheet is not followed and was left out",
            advice="Give the shapes their colours themselves, if some look wrong",
        )
    return rules if rules.count else None


def check_finite(matrix: Matrix, node: Node) -> None:
    """Refuse a map that is not finite. *Errors*: DrawingError READ-016."""
    if not all(-_FAR < value < _FAR for value in matrix):
        raise DrawingError.because(
            "READ-016",
            "a transform or viewBox makes coordinates too large to measure",
            "Look for an enormous scale",
            place=Place(line=node.line, element=node.name),
        )


def passes(node: Node) -> bool:
    """Return whether an element's conditions hold, for a program without extensions that reads English."""
    if "requiredExtensions" in node.attrib:
        return False
    languages = node.attrib.get("systemLanguage")
    if languages is None:
        return True
    tags = (tag.strip().lower() for tag in languages.split(","))
    return any(tag == _LANGUAGE or tag.startswith(_LANGUAGE + "-") for tag in tags)


_LANGUAGE: Final = "en"
_FAR: Final = 1e100
