"""Conditions in style sheets: which media, and what a browser supports.

*Source*: CSS Conditional Rules 3 (@media, @supports), Media Queries 4 (a screen is meant here).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import tinycss2

from convert.reader.properties import CSS_WIDE, GEOMETRY, PROPERTIES, Origin, parse_value

if TYPE_CHECKING:
    from collections.abc import Sequence

_SCREEN: Final = frozenset({"", "all", "screen", "only screen", "only all"})
_OTHERS: Final = frozenset(
    {"print", "only print", "speech", "only speech", "not all", "not screen", "aural", "braille", "tty"}
)
_DEEPEST: Final = 20


def media_hold(text: str) -> bool | None:
    """Return whether media queries hold for a screen; None when that depends on more than is known."""
    queries = [" ".join(query.split()).lower() for query in text.split(",")]
    if any(query in _SCREEN for query in queries):
        return True
    return False if all(query in _OTHERS for query in queries) else None


def supported(prelude: Sequence[Any], depth: int = 0) -> bool | None:
    """Return whether a condition of @supports holds in a browser; None when that can't be told."""
    words = [token for token in prelude if token.type not in ("whitespace", "comment")]
    if not words or depth > _DEEPEST:
        return None
    if _keyword(words[0]) == "not":
        inner = supported(words[1:], depth + 1) if len(words) == 2 else None
        return None if inner is None else not inner
    found = _one(words[0], depth)
    for link, word in zip(words[1::2], words[2::2], strict=False):
        other = _one(word, depth)
        if _keyword(link) == "and":
            found = False if found is False or other is False else (None if None in (found, other) else True)
        elif _keyword(link) == "or":
            found = True if found or other else (None if None in (found, other) else False)
        else:
            return None
    return found if len(words) % 2 else None


def _keyword(token: Any) -> str:  # noqa: ANN401 - a token of tinycss2
    return str(token.lower_value) if token.type == "ident" else ""


def _one(token: Any, depth: int) -> bool | None:  # noqa: ANN401 - a token of tinycss2
    """Return whether what stands in one pair of brackets is supported: a declaration or a condition."""
    if token.type != "() block":
        return None
    declared = tinycss2.parse_one_declaration(token.content)
    if declared.type != "declaration":
        return supported(token.content, depth + 1)
    text = tinycss2.serialize(declared.value).strip()
    if declared.name.startswith("--"):
        return True
    if declared.lower_name not in PROPERTIES and declared.lower_name not in GEOMETRY:
        return None
    return text.lower() in CSS_WIDE or parse_value(declared.lower_name, text, Origin.SHEET) is not None
