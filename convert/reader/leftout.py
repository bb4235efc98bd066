"""What is left out of a drawing, and why, in words; and its layers, whether they are seen or not."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Final

from convert.errors import DrawingError, Finding, Severity
from convert.reader.contents import Layer
from convert.reader.document import GROUPS, UNDRAWN
from convert.reader.names import is_guide, layer_of, names_of
from convert.reader.shapes import SHAPES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from convert.reader.drawing import Element
    from convert.reader.names import Choice
    from convert.reader.node import Node
    from convert.reader.remarks import Remarks

    Path = tuple[str, ...]

_NOUNS: Final = {"text": "text", "image": "picture"}
_CONTENT: Final = SHAPES | {"use", "text", "image"}
_KEPT: Final = frozenset({"defs", "symbol"})
PICTURES: Final = {
    "image": ("a picture", "pictures"),
    "foreignObject": ("a part of a web page (foreignObject)", "parts of web pages (foreignObject)"),
    "video": ("a video", "videos"),
    "audio": ("a sound", "sounds"),
    "canvas": ("a canvas", "canvases"),
    "iframe": ("a frame", "frames"),
}
_SHOW: Final = "What should be pieced must be seen: show it in your editor"
_MOST_LAYERS: Final = 12


class Why(Enum):
    """Why something is not seen: the words before and behind its name, and what to do about it."""

    HIDDEN = ("hidden ", "", _SHOW)
    CLEAR = ("", " without any opacity", "What should be pieced must be seen: raise its opacity")
    CONDITION = ("", " for other languages or programs", "")
    NO_SIZE = ("", " in a viewport of no size", "Give that drawing within the drawing a size")
    SQUEEZED = ("", " squeezed to nothing", "Look for a transform with a scale of 0")
    CUT = ("", " outside of every clip or mask round it", "Release the clip or mask if it should be seen")


class Omitted(Enum):
    """What is left out though it isn't hidden: its code, the words for it, and what to do about it."""

    SHAPE = ("READ-051", "shape", "", " not asked for", "See --only and --skip")
    TEXT = ("READ-051", "text", "", " not asked for", "See --only and --skip")
    PICTURE = ("READ-051", "picture", "", " not asked for", "See --only and --skip")
    BARE = (
        "READ-044",
        "shape",
        "",
        " with neither fill nor stroke",
        "Give it a fill or a stroke to have it pieced",
    )
    EMPTY = ("READ-052", "shape", "", " without any length", "")
    BESIDE = (
        "READ-057",
        "shape",
        "",
        " wholly beside the page",
        "What should be pieced must lie on the page",
    )


class LeftOut:
    """Remarks on what is not seen, and counts it by layer."""

    def __init__(self, remarks: Remarks) -> None:
        self._remarks = remarks
        self._layers: dict[Path, int] = {}
        self._guides: dict[tuple[str, bool], int] = {}
        self._drawn: set[Node] = set()

    def layer(self, path: Path) -> None:
        """Remember a layer."""
        if path:
            self._layers.setdefault(path, 0)

    def drawn(self, node: Node) -> None:
        """Remember that a `use` drew a shape."""
        self._drawn.add(node)

    def count(self, layers: Path) -> None:
        """Count one shape of these layers as left out."""
        self._layers[layers] = self._layers.get(layers, 0) + 1

    def unseen(self, node: Node, why: Why, layers: Path, chain: str) -> int:
        """Remark on all shapes, texts and pictures in an element, or on itself; return how many there are."""
        before, behind, advice = why.value
        stack = [(node, layers)]
        found = 0
        while stack:
            at, path = stack.pop()
            if at.tag in _CONTENT:
                noun = _NOUNS.get(at.tag, "shape")
                found += noun == "shape"
                self._say(("READ-043", noun, before, behind, advice), chain + at.name, at.line, path)
            elif at.tag[0] != "{" and (at.tag not in UNDRAWN or at is node):
                name = layer_of(at) if at.tag in GROUPS or at.tag == "svg" else None
                if name is not None and (at is not node or not path or path[-1] != name):
                    path = (*path, name)
                    self.layer(path)
                stack.extend((child, path) for child in reversed(at.children))
        return found

    def omit(self, what: Omitted, node: Node, layers: Path, chain: str) -> None:
        """Remark on one element that is left out."""
        self._say(what.value, chain + node.name, node.line, layers)

    def beside(self, element: Element) -> None:
        """Remark on a shape beside the page."""
        self._say(Omitted.BESIDE.value, element.id, element.line, element.layers)

    def cut(self, element: Element, name: str, *, wholly: bool) -> None:
        """Remark on a shape that is not seen, or not all of it, outside of a clip path, mask or viewport."""
        if wholly:
            before, behind, advice = Why.CUT.value
            words = ("READ-043", "shape", before, behind, advice)
            self._say(words, element.id, element.line, element.layers)
            return
        self._remarks.note(
            "READ-047",
            f"what lies outside of the {name} is not seen and was left out",
            many=f"parts of {{n}} shapes lie outside of the {name}; they are not seen and were left out",
            name=element.id,
            line=element.line,
            advice="Release the clip or mask if it should be pieced whole",
        )

    def _say(self, words: tuple[str, ...], name: str, line: int, layers: Path) -> None:
        """Remark on one element that is left out; count it if it is a shape."""
        code, noun, before, behind, advice = words
        if noun == "shape":
            self.count(layers)
        self._remarks.note(
            code,
            f"a {before}{noun}{{where}}{behind} was left out",
            many=f"{{n}} {before}{noun}s{{where}}{behind} were left out",
            name=name,
            line=line,
            layer=layers[-1] if layers else None,
            advice=advice,
        )

    def picture(self, node: Node, layers: Path, chain: str) -> None:
        """Remark on a picture, or something of the kind."""
        one, many = PICTURES[node.tag]
        self._remarks.add(
            "READ-031",
            f"{one}{{where}} holds no lines that can be pieced and was left out",
            node,
            many=f"{{n}} {many}{{where}} hold no lines that can be pieced and were left out",
            name=chain + node.name,
            layer=layers[-1] if layers else None,
            advice="Draw its seams over it, or have your editor trace it",
        )

    def guide(self, name: str, *, within: bool) -> None:
        """Count a shape that is called, or is `within` a layer that is called, as guide lines are."""
        self._guides[name, within] = self._guides.get((name, within), 0) + 1

    def tell_guides(self) -> None:
        """Remark on what seems to be guide lines, and was read like anything else."""
        for (name, within), count in self._guides.items():
            shapes, be = (f"{count} shapes", "were") if count > 1 else ("a shape", "was")
            which = f"in layer {name!r}" if within else f"called {name!r}"
            what = f"{shapes} {which} {be} read as seams, but by that name may be mere guide lines"
            advice = f"If so, leave them out with --skip {name!r}"
            self._remarks.add("READ-049", what, advice=advice, value=float(count))

    def tell_unused(self, root: Node) -> None:
        """Remark, quietly, on shapes that are kept for later use and that nothing draws."""
        stack = [(root, False)]
        while stack:
            at, kept = stack.pop()
            if kept and at.tag in SHAPES and at not in self._drawn:
                self._remarks.note(
                    "READ-058",
                    "a shape that is only kept for use (in defs or a symbol) is drawn nowhere",
                    at,
                    many="{n} shapes that are only kept for use (in defs or a symbol) are drawn nowhere",
                    advice="If they should be pieced, move them out of there",
                    quiet=True,
                )
            if at.tag[0] == "{" or (at.tag in UNDRAWN and at.tag not in _KEPT):
                continue
            inside = kept or at.tag in _KEPT
            stack.extend((child, inside) for child in reversed(at.children))

    def check_patterns(self, choice: Choice, root: Node) -> None:
        """Refuse patterns that fit nothing, be it seen or not. *Errors*: DrawingError READ-048."""
        unused = choice.unused
        if not unused:
            return
        for node in root.subtree():
            if node is not root and node.tag[0] != "{":
                choice.wants(names_of(node))
        findings = [
            Finding("READ-048", Severity.ERROR, f"nothing in the drawing is called {p!r}", self._names(root))
            for p in choice.unused
        ]
        if findings:
            raise DrawingError(*findings)

    def _names(self, root: Node) -> str:
        every = [name for path in self._layers for name in path]
        what = "layers"
        if not every:
            drawn = (node for node in root.subtree() if node is not root and node.tag in GROUPS | SHAPES)
            every, what = [name for node in drawn for name in names_of(node)], "shapes"
        names = [repr(name) for name in dict.fromkeys(every)]
        if not names:
            return "Nothing in it has a name: give its layers names in your editor, or leave this option out"
        more = f" and {len(names) - _MOST_LAYERS} more" if len(names) > _MOST_LAYERS else ""
        return f"Its {what} are called {', '.join(names[:_MOST_LAYERS])}{more}"

    def layers(self, elements: Iterable[Element]) -> tuple[Layer, ...]:
        """Return all layers, outer before inner, with the number of their shapes."""
        own: dict[Path, list[int]] = {}
        for path, left_out in self._layers.items():
            for depth in range(1, len(path) + 1):
                own.setdefault(path[:depth], [0, 0])[1] += left_out
        for element in elements:
            for depth in range(1, len(element.layers) + 1):
                own.setdefault(element.layers[:depth], [0, 0])[0] += 1
        order = _outer_first(list(own))
        return tuple(Layer(path, own[path][0], own[path][1], is_guide(path[-1])) for path in order)


def _outer_first(paths: Sequence[Path]) -> list[Path]:
    """Return paths so that what is in a layer stands behind it, in the order in which they were met."""
    rank = {path: number for number, path in enumerate(paths)}
    return sorted(paths, key=lambda path: [rank[path[:depth]] for depth in range(1, len(path) + 1)])
