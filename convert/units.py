"""Lengths as people write them, and as they like to read them.

Inside the program every length is a number of millimetres; this is the only place where an inch
is turned into them. Reading is strict: what could mean two things is refused, and the message
gives both meanings, because a block at the wrong size costs cloth.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from convert.errors import UsageError

MM_PER_INCH: Final = 25.4
"""Exact by definition. *Source*: international inch, 1959."""

_INCH: Final = Fraction(254, 10)

CSS_UNIT_MM: Final[dict[str, Fraction]] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "q": Fraction(1, 4),
    "in": _INCH,
    "pt": _INCH / 72,
    "pc": _INCH / 6,
    "px": _INCH / 96,
}
"""Millimetres in each absolute unit of style sheets and SVG, in lower case.

*Source*: CSS Values and Units 4, "Absolute Lengths".
"""

_UNIT_MM: Final[dict[str, Fraction]] = CSS_UNIT_MM | {"m": Fraction(1000), "ft": _INCH * 12, "yd": _INCH * 36}

_SPELLINGS: Final = {
    # The odd signs are a double prime and the closing quote that word processors make of an inch mark.
    "in": ("inch", "inches", "ins", '"', "\u2033", "\u201d", "''"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "ft": ("foot", "feet"),
    "yd": ("yard", "yards"),
}
_UNIT_WORDS: Final = {word: unit for unit, words in _SPELLINGS.items() for word in words}

_VULGAR: Final[dict[str, str]] = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8",
    "⅞": "7/8", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅒": "1/10",
}  # fmt: skip

_NUMBER: Final = re.compile(
    r"(?P<sign>[+-]?)"
    r"(?:(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    r"|(?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+))",
    re.ASCII,
)
_THOUSANDS: Final = re.compile(r"[1-9]\d{0,2},\d{3}", re.ASCII)

_LONGEST_TEXT: Final = 40
LARGEST_MM: Final = 50_000.0
"""Longer than any cloth, card or bed: such a length is a slip."""
SMALLEST_MM: Final = 1e-4
"""Finer than any tool: such a length is a slip, unless it is zero where zero is allowed."""


def parse_length(text: str, *, default_unit: str | None = None, allow_zero: bool = False) -> float:
    """Return the length that `text` states, in millimetres.

    Understood are decimals with a point or a comma, fractions and mixed numbers (`3 1/2in`,
    `3-1/2"`, `3½ in`), and a unit by symbol or word. `default_unit` is used when none is written.
    *Errors*: UsageError when the text is no length, has no unit, can be read in two ways, or is
    negative, zero (unless `allow_zero`), or no size for handiwork.
    """
    shown = _shown(text)
    if len(text) > _LONGEST_TEXT:
        raise UsageError.because("JOB-001", f"{shown} is too long to be a length", _EXAMPLES)
    plain = _plain(text)
    match = _NUMBER.match(plain)
    if match is None:
        raise UsageError.because("JOB-001", f"{shown} is not a length", _EXAMPLES)
    unit = _unit_of(plain[match.end() :].strip(), shown, match[0], default_unit)
    size = _amount(match, shown, unit) * _UNIT_MM[unit]
    if match["sign"] == "-" and size:
        raise UsageError.because("JOB-004", f"{shown} is negative", "Write a length above zero")
    if not size and not allow_zero:
        raise UsageError.because("JOB-004", f"{shown} is zero", "Write a length above zero")
    if size and not SMALLEST_MM <= size <= LARGEST_MM:
        limits = f"Lengths here lie between {SMALLEST_MM:g} mm and {LARGEST_MM / 1000:g} m"
        raise UsageError.because("JOB-005", f"{shown} is no size for handiwork", limits, value=float(size))
    return float(size)


_EXAMPLES: Final = "Write a number and a unit, such as 6in, 3 1/2in, 89mm or 8.9cm"


def _shown(text: str) -> str:
    short = text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 3] + "..."
    return f"'{short}'"


def _plain(text: str) -> str:
    """Spell out fraction signs, make every space and dash the plain one, and lower the case."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    text = text.replace("\u2044", "/").replace("\u2212", "-").replace("\u2013", "-")
    return " ".join(text.split()).lower()


def _unit_of(word: str, shown: str, number: str, default_unit: str | None) -> str:
    if not word:
        if default_unit is not None:
            return default_unit
        raise UsageError.because("JOB-002", f"{shown} has no unit", f"Write {number}in or {number}mm")
    if word in {"'", "\u2032", "\u2019"}:
        advice = f"The mark ' means feet: write {number}ft, or {number}in for inches"
        raise UsageError.because("JOB-003", f"{shown} could mean feet or inches", advice)
    unit = _UNIT_WORDS.get(word, word).removesuffix(".")
    if unit in _UNIT_MM:
        return unit
    if any(c.isdigit() or c in ".,/-+" for c in word):
        raise UsageError.because("JOB-001", f"{shown} is not one length", _EXAMPLES)
    known = "Known units are mm, cm, m, in, ft, yd, pt, pc and px"
    raise UsageError.because("JOB-006", f"{shown} has an unknown unit", known)


def _amount(match: re.Match[str], shown: str, unit: str) -> Fraction:
    if match["decimal"] is not None:
        decimal = match["decimal"]
        if _THOUSANDS.fullmatch(decimal):
            point, thousands = float(decimal.replace(",", ".")), decimal.replace(",", "")
            what = f"{shown} could mean {point:g}{unit} or {thousands}{unit}"
            raise UsageError.because("JOB-003", what, "Write whichever is meant without a comma")
        return Fraction(decimal.replace(",", "."))
    top, bottom = int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise UsageError.because("JOB-001", f"{shown} divides by zero", _EXAMPLES)
    if match["whole"] is None:
        return Fraction(top, bottom)
    if top >= bottom:
        raise UsageError.because("JOB-001", f"{shown} adds a fraction of one or more", _EXAMPLES)
    return int(match["whole"]) + Fraction(top, bottom)


def format_mm(mm: float, *, digits: int = 3) -> str:
    """Return `mm` in millimetres with at most `digits` decimals: `88.9 mm`."""
    return f"{_decimal(mm, digits)} mm"


def format_inches(mm: float, *, digits: int = 3) -> str:
    """Return `mm` in inches: as a mixed number when it is a whole number of 64ths, else with decimals."""
    parts = mm / MM_PER_INCH * 64
    if abs(parts - round(parts)) > 1e-6:
        return f"{_decimal(mm / MM_PER_INCH, digits)} in"
    whole, rest = divmod(abs(round(parts)), 64)
    fraction = str(Fraction(rest, 64)) if rest else ""
    number = " ".join(part for part in (str(whole) if whole else "", fraction) if part) or "0"
    return f"{'-' if parts < 0 and number != '0' else ''}{number} in"


def format_length(mm: float) -> str:
    """Return `mm` both ways, the neater one first: `3 1/2 in (88.9 mm)`, `90 mm (3.543 in)`."""
    inches, metric = format_inches(mm), format_mm(mm)
    if "." in inches:
        return f"{metric} ({inches})"
    return f"{inches} ({metric})"


def _decimal(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
