"""The rules of a document's <style> elements, and which of them match an element."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import cssselect2
import tinycss2

from convert.errors import DrawingError, Place
from convert.reader.cascade import Declared, declarations_of
from convert.reader.css import check_length, style_sheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from convert.reader.node import Node

MAX_TRIES = 50_000_000
"""Selectors tried on elements and on what is around them: more is minutes of work, by mistake or malice."""
_SCREEN = frozenset({"", "all", "screen", "only screen", "only all"})
_OTHER_MEDIA = (
    "print",
    "only print",
    "speech",
    "only speech",
    "not all",
    "not screen",
    "aural",
    "braille",
    "tty",
)


class Rules:
    """Style rules ready to be matched. `skipped` names what was not understood."""

    def __init__(self, sheets: Iterable[str]) -> None:
        self._matcher = cssselect2.Matcher()
        self._tries = 0
        self._namespaces: dict[str | None, str] = {}
        self._plain = True
        self._known: dict[tuple[str, str | None, str], tuple[Declared, ...]] = {}
        self.skipped: list[str] = []
        self.count = 0
        sheets = tuple(sheets)
        check_length(sum(map(len, sheets)))
        for text in sheets:
            self._namespaces = {}
            self._add(style_sheet(text), 0)

    def _add(self, rules: Iterable[Any], depth: int) -> None:
        for rule in rules:
            if rule.type == "qualified-rule":
                self._add_rule(rule)
            elif rule.type == "at-rule":
                self._add_at_rule(rule, depth)
            elif rule.type == "error":
                self.skipped.append(f"a style rule ({rule.message})")

    def _add_at_rule(self, rule: Any, depth: int) -> None:  # noqa: ANN401 - a token of tinycss2
        keyword = rule.lower_at_keyword
        if keyword == "namespace":
            words = [t for t in rule.prelude if t.type not in ("whitespace", "comment")]
            prefix = words[0].value if len(words) == 2 and words[0].type == "ident" else None
            if words and words[-1].type in ("string", "url"):
                self._namespaces[prefix] = words[-1].value
        elif keyword == "media" and depth < 20:
            media = [m.strip().lower() for m in tinycss2.serialize(rule.prelude).split(",")]
            if any(m in _SCREEN for m in media):
                inner = tinycss2.parse_rule_list(rule.content or [], skip_comments=True, skip_whitespace=True)
                self._add(inner, depth + 1)
            elif not all(m in _OTHER_MEDIA for m in media):
                self.skipped.append(f"@media {', '.join(media)}")
        elif keyword not in ("charset", "font-face", "keyframes", "-webkit-keyframes", "page"):
            self.skipped.append("@" + rule.at_keyword)

    def _add_rule(self, rule: Any) -> None:  # noqa: ANN401 - a token of tinycss2
        contents = tinycss2.parse_blocks_contents(rule.content, skip_comments=True, skip_whitespace=True)
        declared = declarations_of(contents)
        name = tinycss2.serialize(rule.prelude).strip()
        if any(item.type == "qualified-rule" for item in contents):
            self.skipped.append(f"rules inside the rule {name}")
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude, self._namespaces)
        except (cssselect2.SelectorError, NotImplementedError, SyntaxError, RecursionError, MemoryError):
            self.skipped.append(f"the rule {name}")
            return
        for selector in selectors:
            self._matcher.add_selector(selector, declared)
            self.count += 1
        # A rule about nothing but tag, id and class matches all elements that share those, or none.
        self._plain = self._plain and not any(
            sign in part.strip() for part in name.split(",") for sign in " >~+:[\t\n\r\f"
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
        found = tuple(
            d for _, _, pseudo, declared in self._matcher.match(node) if pseudo is None for d in declared
        )
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


def style_texts(root: Node) -> tuple[list[str], list[str]]:
    """Return the texts of all <style> elements meant for a screen, and the media of those that may not be."""
    texts, doubtful = [], []
    for node in root.subtree():
        if node.tag != "style" or node.get("type", "text/css").strip().lower() not in ("", "text/css"):
            continue
        media = node.get("media").strip().lower()
        if media in _SCREEN or any(m.strip() in _SCREEN for m in media.split(",")):
            texts.append(node.whole_text())
        elif not all(m.strip() in _OTHER_MEDIA for m in media.split(",")):
            doubtful.append(f"the style sheet for {media}")
    return texts, doubtful
