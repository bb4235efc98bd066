"""What tinycss2 makes of CSS, within bounds.

tinycss2 writes tokens back by a function that calls itself for each bracket inside a bracket, so a text
of nothing but brackets would end in a RecursionError; and of each byte that it reads it makes a hundred.
"""

from __future__ import annotations

import re
from typing import Any, Final

from convert.errors import DrawingError

MAX_NESTING: Final = 100
"""Brackets inside brackets: no style needs more than a handful."""
MAX_LENGTH: Final = 4_000_000
"""Characters of all style sheets or of a style attribute: 100,000 classes of 24 take 2.4 million."""
MAX_VALUE: Final = 500_000
"""Characters of one value that is taken apart: a list of 20,000 transforms is shorter."""
_OPEN: Final = "([{"
_SIGNS: Final = re.compile(
    r"/\*.*?(?:\*/|\Z)|\"(?:[^\"\\\n]|\\.)*+\"?|'(?:[^'\\\n]|\\.)*+'?|[()\[\]{}]", re.DOTALL
)


def component_values(text: str) -> list[Any]:
    """Return the tokens of a value, without comments. *Errors*: DrawingError READ-029, READ-034."""
    import tinycss2

    tokens: list[Any] = tinycss2.parse_component_value_list(_checked(text, MAX_VALUE), skip_comments=True)
    return tokens


def one_value(text: str) -> Any:  # noqa: ANN401 - a token of tinycss2
    """Return the one token that a text is, or an error token. *Errors*: DrawingError READ-029, READ-034."""
    import tinycss2

    return tinycss2.parse_one_component_value(_checked(text, MAX_VALUE), skip_comments=True)


def block_contents(text: str) -> list[Any]:
    """Return what is in a block or style attribute. *Errors*: DrawingError READ-029, READ-034."""
    import tinycss2

    found: list[Any] = tinycss2.parse_blocks_contents(
        _checked(text), skip_comments=True, skip_whitespace=True
    )
    return found


def style_sheet(text: str) -> list[Any]:
    """Return the rules of a style sheet. *Errors*: DrawingError READ-029, READ-034."""
    import tinycss2

    rules: list[Any] = tinycss2.parse_stylesheet(_checked(text), skip_comments=True, skip_whitespace=True)
    return rules


def check_length(length: int, most: int | None = None) -> None:
    """Refuse over `most` characters of style (by default MAX_LENGTH). *Errors*: DrawingError READ-034."""
    most = MAX_LENGTH if most is None else most
    if length > most:
        what = f"styles are over {most:,} characters long"
        raise DrawingError.because("READ-034", what, "Use classes that many shapes share")


def _checked(text: str, most: int | None = None) -> str:
    """Return the text.

    *Errors*: DrawingError READ-034 when it is too long, READ-029 when its brackets are nested too deep.
    """
    check_length(len(text), most)
    if sum(map(text.count, _OPEN)) <= MAX_NESTING:
        return text
    depth = 0
    for sign in _SIGNS.findall(text):
        if sign in _OPEN:
            depth += 1
            if depth > MAX_NESTING:
                what = f"brackets in a style are nested over {MAX_NESTING} deep ({text[:40]!r} ...)"
                raise DrawingError.because("READ-029", what, "Simplify that style, or leave it out")
        elif len(sign) == 1:
            depth = max(0, depth - 1)
    return text
