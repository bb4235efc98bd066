"""The rules of a document's <style> elements, and which of them match an element.

*Source*: CSS Syntax 3, CSS Nesting 1 (rules within rules; declarations behind them count as later ones),
CSS Cascading and Inheritance 5, 6.4 (layers).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import cssselect2
import tinycss2

from convert.errors import DrawingError, Place
from convert.reader.cascade import Declared, declarations_of
from convert.reader.conditions import media_hold, supported
from convert.reader.css import check_length, style_sheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from convert.reader.node import Node

    Rank = tuple[float, ...]

MAX_TRIES = 50_000_000
"""Selectors tried on elements and on what is around them: more is minutes of work, by mistake or malice."""
_DEEPEST = 20
_LONGEST = 20_000
_HARMLESS = frozenset(
    {"charset", "font-face", "keyframes", "-webkit-keyframes", "page", "property", "counter-style"}
)
_LAST = float("inf")
_REFUSED = (
    *(cssselect2.SelectorError, NotImplementedError, SyntaxError, RecursionError, MemoryError),
    AttributeError,  # of None, where a name ends with its namespace
)
"""What selectors that can't be compiled raise."""


class Rules:
    """Style rules ready to be matched. `skipped` names what was not understood."""

    def __init__(self, sheets: Iterable[str]) -> None:
        self._matcher = cssselect2.Matcher()
        self._tries = 0
        self._namespaces: dict[str | None, str] = {}
        self._layers: dict[tuple[str, ...], Rank] = {}
        self._plain = self._one_layer = True
        self._known: dict[tuple[str, str | None, str], tuple[Declared, ...]] = {}
        self.skipped: list[str] = []
        self.count = 0
        sheets = tuple(sheets)
        check_length(sum(map(len, sheets)))
        for text in sheets:
            self._namespaces = {}
            self._add(style_sheet(text), "", (), 0)

    def _add(self, rules: Iterable[Any], around: str, layer: tuple[str, ...], depth: int) -> None:
        """Add rules; `around` are the selectors of the rule that they stand in, `layer` the layers' names."""
        loose: list[Any] = []
        for rule in rules:
            if rule.type == "declaration":
                loose.append(rule)
                continue
            if loose:
                self._declare(around, loose, layer)
                loose = []
            if rule.type == "qualified-rule":
                self._add_rule(rule, around, layer, depth)
            elif rule.type == "at-rule":
                self._add_at_rule(rule, around, layer, depth)
            elif rule.type == "error" and not around:
                self.skipped.append(f"a style rule ({rule.message})")
        if loose:
            self._declare(around, loose, layer)

    def _add_at_rule(self, rule: Any, around: str, layer: tuple[str, ...], depth: int) -> None:  # noqa: ANN401
        keyword = rule.lower_at_keyword
        if keyword == "namespace":
            words = [t for t in rule.prelude if t.type not in ("whitespace", "comment")]
            prefix = words[0].value if len(words) == 2 and words[0].type == "ident" else None
            if words and words[-1].type in ("string", "url"):
                self._namespaces[prefix] = words[-1].value
            return
        name = tinycss2.serialize(rule.prelude).strip()
        if keyword == "layer":
            self._add_layer(rule, name, around, layer, depth)
        elif keyword == "import":
            self.skipped.append(f"@import {name[:60]}, for which a file outside would be needed,")
        elif keyword in ("media", "supports"):
            holds = media_hold(name) if keyword == "media" else supported(rule.prelude)
            if holds is None:
                self.skipped.append(f"@{keyword} {name}")
            elif holds:
                self._add_contents(rule.content, around, layer, depth)
        elif keyword not in _HARMLESS:
            self.skipped.append("@" + rule.at_keyword)

    def _add_layer(self, rule: Any, name: str, around: str, layer: tuple[str, ...], depth: int) -> None:  # noqa: ANN401
        self._one_layer = False
        paths = [(*layer, *(part.strip() for part in each.split("."))) for each in name.split(",")]
        if not name:
            paths = [(*layer, f" {len(self._layers)}")]
        for path in paths:
            for end in range(1, len(path) + 1):
                self._rank(path[:end])
        if rule.content is not None:
            self._add_contents(rule.content, around, paths[0], depth)

    def _rank(self, layer: tuple[str, ...]) -> Rank:
        """Return where a layer stands: after those met before, before what its outer one holds itself."""
        if not layer:
            return (_LAST,)
        if layer not in self._layers:
            number = sum(len(other) == len(layer) and other[:-1] == layer[:-1] for other in self._layers)
            self._layers[layer] = (*self._rank(layer[:-1])[:-1], float(number), _LAST)
        return self._layers[layer]

    def _add_contents(
        self, content: Iterable[Any] | None, around: str, layer: tuple[str, ...], depth: int
    ) -> None:
        if depth >= _DEEPEST:
            self.skipped.append("rules within rules within rules")
            return
        parse = tinycss2.parse_blocks_contents if around else tinycss2.parse_rule_list
        self._add(parse(content or [], skip_comments=True, skip_whitespace=True), around, layer, depth + 1)

    def _add_rule(self, rule: Any, around: str, layer: tuple[str, ...], depth: int) -> None:  # noqa: ANN401
        selectors = tinycss2.serialize(rule.prelude).strip()
        if around:
            selectors = _nested(rule.prelude, around)
            if len(selectors) > _LONGEST:
                # Rules within rules that name the outer one often would soon be larger than any memory.
                self.skipped.append("a rule within rules")
                return
        if self._compiled(selectors):
            self._add_contents_of_rule(rule, selectors, layer, depth)

    def _add_contents_of_rule(self, rule: Any, selectors: str, layer: tuple[str, ...], depth: int) -> None:  # noqa: ANN401
        contents = tinycss2.parse_blocks_contents(rule.content, skip_comments=True, skip_whitespace=True)
        if depth >= _DEEPEST:
            self.skipped.append("rules within rules within rules")
            contents = [item for item in contents if item.type == "declaration"]
        self._add([item for item in contents if item.type != "error"], selectors, layer, depth + 1)

    def _compiled(self, selectors: str) -> list[Any]:
        try:
            compiled: list[Any] = cssselect2.compile_selector_list(selectors, self._namespaces)
        except _REFUSED:
            self.skipped.append(f"the rule {selectors}")
            return []
        return compiled

    def _declare(self, selectors: str, items: list[Any], layer: tuple[str, ...]) -> None:
        """Add declarations for what matches the selectors, which have been compiled before without fault."""
        payload = (self._rank(layer), declarations_of(items))
        for selector in self._compiled(selectors):
            self._matcher.add_selector(selector, payload)
            self.count += 1
        # A rule about nothing but tag, id and class matches all elements that share those, or none.
        self._plain = self._plain and not any(
            sign in part.strip() for part in selectors.split(",") for sign in " >~+:[\t\n\r\f"
        )

    def matching(self, node: Node) -> tuple[Declared, ...]:
        """Return the declarations for an element, weakest first.

        *Errors*: DrawingError READ-023 when matching takes too long.
        """
        key = (node.tag, node.id, node.get("class"))
        if self._plain and key in self._known:
            return self._known[key]
        self._tries += self._candidates(node) * (1 if self._plain else 1 + node.depth + node.index // 16)
        if self._tries > MAX_TRIES:
            raise DrawingError.because(
                "READ-023",
                "the style rules are too costly to match",
                "Use classes instead of rules about neighbours",
                place=Place(line=node.line, element=node.name),
            )
        payloads = [payload for _, _, pseudo, payload in self._matcher.match(node) if pseudo is None]
        if self._one_layer:
            found = tuple(d for _, declared in payloads for d in declared)
        else:
            found = _by_layer(payloads)
        if self._plain:
            self._known[key] = found
        return found

    def _candidates(self, node: Node) -> int:
        """Return how many selectors are tried: those ending in the element's id, class or tag, or in none."""
        known = self._matcher
        tried = len(known.other_selectors) + len(known.id_selectors.get(node.id, ()))
        tried += len(known.lower_local_name_selectors.get(node.local_name.lower(), ()))
        tried += len(known.namespace_selectors.get(node.namespace_url, ())) + len(known.lang_attr_selectors)
        return tried + sum(len(known.class_selectors.get(name, ())) for name in node.classes)


def _by_layer(payloads: list[tuple[Rank, tuple[Declared, ...]]]) -> tuple[Declared, ...]:
    """Return declarations, weakest first: a later layer is stronger, but weaker in what is important."""
    every = [(rank, d) for rank, declared in payloads for d in declared]
    usual = sorted((each for each in every if not each[1].important), key=lambda each: each[0])
    important = sorted((each for each in every if each[1].important), key=lambda each: each[0], reverse=True)
    return tuple(d for _, d in (*usual, *important))


def _nested(prelude: Iterable[Any], around: str) -> str:
    """Return the selectors of a rule within a rule as they would be outside of it."""
    parts: list[list[Any]] = [[]]
    for token in prelude:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        elif token.type != "comment":
            parts[-1].append(token)
    outer = f":is({around})"
    found = []
    for part in parts:
        text = tinycss2.serialize(part).strip()
        refers = _refers(part)
        found.append(text.replace("&", outer) if refers else f"{outer} {text}")
        if refers and text[:1] in ">+~":
            found[-1] = f"{outer} {found[-1]}"
    return ",".join(found)


def _refers(tokens: Iterable[Any]) -> bool:
    """Return whether a selector names the rule around it by &."""
    for token in tokens:
        if token.type == "literal" and token.value == "&":
            return True
        if _refers(getattr(token, "content", None) or getattr(token, "arguments", None) or ()):
            return True
    return False


def style_texts(root: Node) -> tuple[list[str], list[str]]:
    """Return the texts of all <style> elements meant for a screen, and the media of those that may not be."""
    texts, doubtful = [], []
    for node in root.subtree():
        if node.tag != "style" or node.get("type", "text/css").strip().lower() not in ("", "text/css"):
            continue
        media = node.get("media").strip().lower()
        holds = media_hold(media)
        if holds:
            texts.append(node.whole_text())
        elif holds is None:
            doubtful.append(f"the style sheet for {media}")
    return texts, doubtful
