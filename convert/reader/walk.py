"""The walk through the document: which shapes are drawn, where, and how they are painted.

The walk has a stack of its own, so that no nesting is too deep for it, and obeys an allow-list:
whatever else it meets is told, so that nothing is lost silently. A shape drawn through `use` is a
new shape each time, named by the ids that led to it.
It is one class on purpose, though a long one: whatever it does pushes onto that one stack or gathers there.
*Source*: SVG 2, 5 (structure, use, symbol, switch, conditional processing), 3.2 (rendering tree).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from convert.errors import DrawingError, Place
from convert.reader.assemble import LARGEST_MM, Gathered
from convert.reader.cascade import INITIAL
from convert.reader.document import GROUPS, UNDRAWN, check_finite, passes
from convert.reader.drawing import DrawnText, Element
from convert.reader.instances import check_instances
from convert.reader.leftout import PICTURES, LeftOut, Omitted, Why
from convert.reader.lengths import Along, Viewport
from convert.reader.limits import regions_of
from convert.reader.looks import Looks
from convert.reader.matrices import SEPARATE, apply, determinant, multiply, translated
from convert.reader.names import Choice, guide_of, label_of, layer_of, names_of, title_of
from convert.reader.nested import frame_of
from convert.reader.node import HREF
from convert.reader.regions import MAX_CLIPS, Surroundings, viewport_region
from convert.reader.shapes import SHAPES, outline_of
from convert.reader.text import read_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.reader.cascade import Style
    from convert.reader.document import Reading
    from convert.reader.matrices import Matrix
    from convert.reader.node import Node
    from convert.reader.page import Page
    from convert.reader.properties import Paint
    from convert.reader.regions import Region

    Context = tuple[Paint, Paint]

MAX_USES: Final = 60
_MOVING: Final = frozenset({"animate", "animateTransform", "animateMotion", "animateColor", "set", "discard"})
_STRIPPED: Final = frozenset({"g", "use", "svg"})
"""What display: contents takes away, leaving what is in it; all else it hides (CSS Display 3, B)."""
_TRANSFORMS: Final = frozenset({"transform", *SEPARATE})


@dataclass(frozen=True, slots=True)
class _Where:
    """What an element gets from what stands around it. `names` are looked at only when shapes are chosen."""

    style: Style
    matrix: Matrix
    viewport: Viewport
    opacity: float
    layers: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    guide: str | None = None
    blends: bool = False
    context: Context | None = None
    chain: str = ""
    regions: tuple[Region, ...] = ()
    uses: tuple[Node, ...] = ()
    title: str | None = None


class Walk:
    """One pass over a document. `elements`, `gathered` and `texts` hold what it found, in paint order."""

    def __init__(self, reading: Reading, page: Page, only: Sequence[str], skip: Sequence[str]) -> None:
        self._reading, self._page = reading, page
        self._remarks, self._cascade = reading.remarks, reading.cascade
        self._choice = Choice(only, skip)
        self.left_out = LeftOut(reading.remarks)
        self.elements: list[Element] = []
        self.gathered = Gathered()
        self.texts: list[DrawnText] = []
        self.hidden = self.unpainted = self.unchosen = 0
        self._looks = Looks(reading)
        self._stack: list[tuple[Node, _Where]] = []
        self._to_mm: Matrix = (page.mm_per_px, 0.0, 0.0, -page.mm_per_px, 0.0, 0.0)

    def run(self) -> None:
        """Walk the whole document. *Errors*: DrawingError for endless or excessive instances."""
        root = self._reading.root
        style = self._cascade.style(root, INITIAL)
        if not style.shown or style.opacity <= 0.0:
            self.hidden += self.left_out.unseen(root, Why.HIDDEN if not style.shown else Why.CLEAR, (), "")
            return
        check_instances(self._reading)
        self._cascade.root_font_size = style.font_size
        where = _Where(style, self._root_matrix(style), self._page.viewport, style.opacity)
        check_finite(where.matrix, root)
        self._push(root.children, where)
        while self._stack:
            self._element(*self._stack.pop())
        self.left_out.check_patterns(self._choice, root)
        self.left_out.tell_guides()
        self.left_out.tell_unused(root)

    def let_go(self) -> None:
        """Let go of the document: a large one takes more memory than all that was seen in it."""
        self._reading.root.let_go()
        del self._reading, self._cascade, self._looks

    def _root_matrix(self, style: Style) -> Matrix:
        """Return the map into the page's px; the root turns about its middle (CSS Transforms 1, 6)."""
        page = self._page
        middle = None
        if style.values["transform-origin"] == INITIAL.values["transform-origin"]:
            middle = (page.width / 2.0, page.height / 2.0)
        outside = Viewport(page.width, page.height, style.font_size)
        return multiply(self._reading.transform(self._reading.root, style, outside, middle), page.to_px)

    def _push(self, children: Sequence[Node], where: _Where) -> None:
        self._stack.extend((child, where) for child in reversed(children))

    def _element(self, node: Node, where: _Where) -> None:
        tag = node.tag
        if tag[0] == "{":
            what = "data that some program keeps for itself was not looked at"
            many = "{n} elements of data that programs keep for themselves were not looked at"
            self._remarks.note("READ-062", what, node, many=many, quiet=True)
            return
        if tag in UNDRAWN:
            if tag == "script":
                self._remarks.note("READ-059", "a script was not run", node, quiet=True)
            return
        if tag in _MOVING:
            self._remarks.add(
                "READ-050", "an animation was left out, and the drawing taken as it stands", node
            )
            return
        if not passes(node):
            self._hide(node, Why.CONDITION, where)
            return
        style = self._cascade.style(node, where.style)
        stripped = style.values["display"] == "contents"
        opacity = where.opacity * (1.0 if stripped else style.opacity)
        if not style.shown or opacity <= 0.0:
            self._hide(node, Why.HIDDEN if not style.shown else Why.CLEAR, where)
            return
        if stripped and tag not in _STRIPPED:
            self._hide(node, Why.HIDDEN, where)
        elif tag in SHAPES:
            self._shape(node, style, where, opacity)
        elif tag in GROUPS or tag in ("use", "svg", "symbol"):
            self._container(node, style, where, opacity)
        elif tag == "text":
            self._text(node, style, where)
        elif tag in PICTURES:
            if not style.visible:
                self._hide(node, Why.HIDDEN, where)
            elif self._wanted(node, names_of(node), Omitted.PICTURE, where):
                self.left_out.picture(node, where.layers, where.chain)
        else:
            self._remarks.add("READ-032", f"<{tag}> is nothing that a browser draws, and was left out", node)

    def _hide(self, node: Node, why: Why, where: _Where) -> None:
        self.hidden += self.left_out.unseen(node, why, where.layers, where.chain)

    # -- groups, instances, nested drawings

    def _placed(
        self, node: Node, style: Style, where: _Where, used: tuple[Node, Style] | None = None
    ) -> tuple[Matrix, tuple[Region, ...]]:
        """Return the map from an element's user space to the page's px, and all that limits it.

        Browsers reckon clips and masks in the system that an element's contents are in.
        """
        matrix = where.matrix
        if "transform" in node.attrib or not style.geometry.keys().isdisjoint(_TRANSFORMS):
            matrix = multiply(matrix, self._reading.transform(node, style, where.viewport))
            check_finite(matrix, node)
        values = style.values
        if (
            values["clip-path"].text == "none"
            and values["mask"].text == "none"
            and values["filter"].text == "none"
        ):
            return matrix, where.regions
        inner = matrix
        if node.tag == "use":
            inner = translated(matrix, *self._reading.place(node, style, where.viewport))
        elif node.tag in ("svg", "symbol"):
            frame = frame_of(node, style, where.viewport, self._remarks, used)
            if frame is not None:
                inner = multiply(multiply(matrix, frame.place), frame.inside)
        at = Surroundings(
            style, inner, where.viewport, lambda: self._reading.box_inside(node, style, where.viewport)
        )
        regions = (*where.regions, *regions_of(node, at, self._reading))
        if len(regions) > MAX_CLIPS:
            what = f"clip paths and masks are nested over {MAX_CLIPS} deep"
            place = Place(line=node.line, element=node.name)
            raise DrawingError.because("READ-039", what, "Cut the shapes themselves", place=place)
        return matrix, regions

    def _container(self, node: Node, style: Style, where: _Where, opacity: float) -> None:
        stripped = style.values["display"] == "contents"
        matrix, regions = (where.matrix, where.regions) if stripped else self._placed(node, style, where)
        name = layer_of(node) if node.tag != "use" else title_of(node) or label_of(node)
        names = names_of(node)
        layers = where.layers if name is None else (*where.layers, name)
        self.left_out.layer(layers)
        inside = _Where(
            style,
            matrix,
            where.viewport,
            opacity,
            layers,
            (*where.names, *names) if self._choice else (),
            where.guide or guide_of(names),
            where.blends or (not stripped and style.values["mix-blend-mode"] != "normal"),
            where.context,
            where.chain,
            regions,
            where.uses,
            where.title or (title_of(node) if node.tag == "use" else None),
        )
        if node.tag == "use":
            self._use(node, style, inside)
        elif node.tag == "svg" and not stripped:
            self._nested(node, style, inside, None)
        elif node.tag == "switch":
            drawable = (c for c in node.children if c.tag[0] != "{" and c.tag not in UNDRAWN | _MOVING)
            self._push([c for c in drawable if passes(c)][:1], inside)
        elif node.tag != "symbol":
            self._push(node.children, inside)

    def _use(self, node: Node, style: Style, inside: _Where) -> None:
        goal = self._reading.used(node)
        if goal is None:
            address = (node.get("href") or node.get(HREF)).strip()
            what = (
                f"a copy (`use`) points to {address[:80]}, which is not in this file"
                if address
                else "a copy (`use`) points to nothing"
            )
            self._remarks.add(
                "READ-033",
                f"{what}, and draws nothing",
                node,
                name=inside.chain + node.name,
                advice="Draw the shape itself in this file",
            )
            return
        place = Place(line=node.line, element=node.name)
        if goal in inside.uses or goal in (node, *node.ancestors):
            raise DrawingError.because(
                "READ-020", f"a `use` draws #{goal.id} inside itself, without end", "Remove it", place=place
            )
        if len(inside.uses) >= MAX_USES:
            what = f"instances are nested over {MAX_USES} deep"
            raise DrawingError.because("READ-021", what, "Turn instances into shapes", place=place)
        stripped = style.values["display"] == "contents"
        x, y = (0.0, 0.0) if stripped else self._reading.place(node, style, inside.viewport)
        inside = replace(
            inside,
            matrix=translated(inside.matrix, x, y),
            context=(style.paint("fill", inside.context), style.paint("stroke", inside.context)),
            chain=f"{inside.chain}{node.name}/",
            uses=(*inside.uses, goal),
        )
        if goal.tag not in ("svg", "symbol"):
            self._push([goal], inside)
            return
        own = self._cascade.style(goal, style)
        if not own.shown or own.opacity <= 0.0:
            self._hide(goal, Why.HIDDEN if not own.shown else Why.CLEAR, inside)
            return
        matrix, regions = self._placed(goal, own, inside, (node, style))
        name = layer_of(goal)
        inside = replace(
            inside,
            style=own,
            matrix=matrix,
            regions=regions,
            opacity=inside.opacity * own.opacity,
            layers=inside.layers if name is None else (*inside.layers, name),
            names=(*inside.names, *names_of(goal)) if self._choice else (),
            guide=inside.guide or guide_of(names_of(goal)),
        )
        self.left_out.layer(inside.layers)
        self._nested(goal, own, inside, (node, style))

    def _nested(self, node: Node, style: Style, where: _Where, used: tuple[Node, Style] | None) -> None:
        """Go into a nested svg or a symbol; a `use` may give it another size."""
        frame = frame_of(node, style, where.viewport, self._remarks, used)
        if frame is None:
            self._hide(node, Why.NO_SIZE, where)
            return
        placed = multiply(where.matrix, frame.place)
        regions = where.regions
        if style.values["overflow"] not in ("visible", "auto"):
            name = f"viewport of {where.chain}{node.name}"
            region = viewport_region(name, placed, frame.width, frame.height)
            # Viewports that fill each other hide no more than one of them.
            if not any(region.hides_as(other) for other in regions):
                regions = (*regions, region)
        matrix = multiply(placed, frame.inside)
        check_finite(matrix, node)
        self._push(node.children, replace(where, matrix=matrix, regions=regions, viewport=frame.viewport))

    # -- what is drawn

    def _shape(self, node: Node, style: Style, where: _Where, opacity: float) -> None:
        names = names_of(node)
        if where.uses:
            self.left_out.drawn(node)
        if not style.visible:
            self._hide(node, Why.HIDDEN, where)
            return
        if not self._wanted(node, names, Omitted.SHAPE, where):
            self.unchosen += 1
            return
        look = self._looks.of(style, where.context)
        fill, width = look.fill, 0.0
        if look.stroke is not None:
            width = style.values["stroke-width"].user_units(where.viewport, style.font_size, Along.DIAGONAL)
        outline = outline_of(node, style, where.viewport, self._remarks)
        if not outline.drawn:
            self.left_out.omit(Omitted.EMPTY, node, where.layers, where.chain)
            return
        if fill is not None and (node.tag == "line" or not outline.encloses):
            fill = None
        if fill is None and width <= 0.0:
            self.unpainted += 1
            self.left_out.omit(Omitted.BARE, node, where.layers, where.chain)
            return
        matrix, regions = self._placed(node, style, where)
        scale = abs(determinant(matrix)) ** 0.5
        if scale == 0.0:
            self._hide(node, Why.SQUEEZED, where)
            return
        if any(not region.parts for region in regions):
            self._hide(node, Why.CUT, where)
            return
        guide = None if self._choice.only else where.guide or guide_of(names)
        if guide is not None:
            self.left_out.guide(guide, within=where.guide is not None)
        for code, what, many in look.remarks:
            self._remarks.note(code, what, node, many=many, name=where.chain + node.name)
        blends = where.blends or style.values["mix-blend-mode"] != "normal"
        if blends:
            one, many = (
                "a shape that is blended with what lies under it",
                "{n} shapes that are blended with what lies under them",
            )
            self._remarks.note(
                "READ-061",
                f"{one} hides none of it",
                node,
                many=f"{many} hide none of it",
                name=where.chain + node.name,
            )
        self.gathered.add(
            len(self.elements), outline, multiply(self._to_mm, matrix), regions, filled=fill is not None
        )
        self.elements.append(
            Element(
                where.chain + node.name,
                node.tag,
                node.line,
                where.layers,
                node.classes,
                fill,
                opacity * look.fill_opacity,
                look.fill_rule,
                look.stroke if width > 0.0 else None,
                width * (scale if look.scales else 1.0) * self._page.mm_per_px,
                where.title or title_of(node),
                blends,
            )
        )

    def _wanted(self, node: Node, names: tuple[str, ...], what: Omitted, where: _Where) -> bool:
        """Return whether a shape, text or picture is asked for; remark on it if it isn't."""
        if not self._choice or self._choice.wants((*where.names, *names)):
            return True
        self.left_out.omit(what, node, where.layers, where.chain)
        return False

    def _text(self, node: Node, style: Style, where: _Where) -> None:
        if not self._wanted(node, names_of(node), Omitted.TEXT, where):
            return
        matrix, regions = self._placed(node, style, where)
        if any(not region.parts for region in regions):
            self._hide(node, Why.CUT, where)
            return
        for placed in read_text(node, style, where.viewport, self._cascade):
            at = apply(multiply(self._to_mm, matrix), placed.x, placed.y)
            if all(abs(v) <= LARGEST_MM for v in at):
                self.texts.append(DrawnText(placed.text, at, where.chain + node.name, node.line))
            else:
                what = "what lies beside the page was left out"
                self._remarks.note("READ-057", what, node, name=where.chain + node.name)
        for below in node.subtree():
            if below.tag == "textPath":
                what, many = "a text along a path was left out", "{n} texts along paths were left out"
                advice = "Put it on a straight line if it should name a piece"
                self._remarks.add("READ-056", what, node, many=many, advice=advice)
