"""What somebody asks for: by options, or in a TOML file beside the drawing.

A file `moth.toml` beside `moth.svg` states **wishes** for that drawing, under the options' own names.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Final

from convert.block.choices import Lines, Unfilled
from convert.colourways import read_palette
from convert.cutting.effort import Effort
from convert.cutting.sheet import Arrangement, Facing, Product
from convert.errors import UsageError
from convert.output import MANIFEST, safe_name
from convert.profile import Profile, load_profile
from convert.settings import read_table, read_text
from convert.units import parse_length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from convert.colourways import Palette
    from convert.settings import Table

FORMATS: Final = ("svg", "dxf", "pdf")
MOST_BLOCKS: Final = 10_000
PAPERS: Final = ("letter", "a4", "both")
WITHOUT: Final = ("balance-marks", "junction-marks", "seam-numbers")
"""What is drawn on papers unless somebody doesn't want it."""

ALL: Final = "all"
CUT_WORDS: Final = (*(product.value for product in Product), ALL)
LONGEST_LINE: Final = 80
LARGEST_ANGLE: Final = 360.0

LINES: Final = tuple(lines.value for lines in Lines)
UNFILLED: Final = tuple(unfilled.value for unfilled in Unfilled)
ARRANGEMENTS: Final = tuple(arrangement.value for arrangement in Arrangement)
FACINGS: Final = (Facing.BACK.value, Facing.FRONT.value)

_NAME_ADVICE: Final = "Use letters, digits and dashes"
_MEASURE: Final = re.compile(r"width|height|edge(?::(?P<template>[A-Za-z]{1,3}))?")
_MEASURE_WORDS: Final = "width, height, edge (the longest straight edge) or edge:A (of template A)"


@dataclass(frozen=True, slots=True)
class Size:
    """One finished size: a name, which is a folder's name too, and the length in mm of what is measured."""

    name: str
    length: float


@dataclass(frozen=True, slots=True)
class Wishes:
    """What somebody asked for; None where they didn't.

    `lines`, `unfilled` and `keep_background` say how a drawing is understood (Choices); `only` and `skip` are
    patterns for layers, classes, titles and ids. `one_unit` is a drawing unit's length, `gap` how far
    apart lines may end that were meant to meet (as drawn), `allowance` the cloth beyond the seam line, all
    in mm; `grain` is in degrees; `without` holds words of WITHOUT. `paper` is one of PAPERS, `cloth_width`
    in mm.
    """

    sizes: tuple[Size, ...] | None = None
    measure: str | None = None
    profile: Profile | None = None
    formats: tuple[str, ...] | None = None
    arrange: tuple[Arrangement, ...] | None = None
    facing: Facing | None = None
    blocks: int | None = None
    effort: Effort | None = None
    lines: Lines | None = None
    unfilled: Unfilled | None = None
    keep_background: bool | None = None
    only: tuple[str, ...] | None = None
    skip: tuple[str, ...] | None = None
    one_unit: float | None = None
    gap: float | None = None
    cut: tuple[Product, ...] | None = None
    allowance: float | None = None
    junction_holes: bool | None = None
    centre_lines: bool | None = None
    removal_holes: bool | None = None
    grain: float | None = None
    without: tuple[str, ...] | None = None
    title: str | None = None
    author: str | None = None
    paper: str | None = None
    cloth_width: float | None = None
    palette: Palette | None = None

    def before(self, other: Wishes) -> Wishes:
        """Return these wishes, with those of `other` where there are none."""
        mine = {f.name: getattr(self, f.name) for f in fields(self)}
        return Wishes(**{key: getattr(other, key) if mine[key] is None else mine[key] for key in mine})


def job_file(drawing: Path) -> Path | None:
    """Return the TOML file beside a drawing, if there is one."""
    path = drawing.with_suffix(".toml") if drawing.name else drawing
    is_file = os.path.isfile(path)  # noqa: PTH113 (unlike Path's own, this one never raises)
    return path if path != drawing and is_file else None


def read_wishes(path: Path) -> Wishes:
    """Return the wishes in a job file.

    *Errors*: ProfileError with one finding for each mistake.
    """
    table = read_table(read_text(path), str(path))
    read: dict[str, Callable[[str], object]] = {
        "sizes": lambda key: tuple(_sizes_in(table.table(key))),
        "measure": lambda key: table.matching(key, _MEASURE.pattern, _MEASURE_WORDS),
        "formats": lambda key: table.choices(key, FORMATS),
        "arrange": lambda key: tuple(map(Arrangement, table.choices(key, ARRANGEMENTS))),
        "facing": lambda key: Facing(table.choice(key, FACINGS)),
        "blocks": lambda key: table.integer(key, 1, MOST_BLOCKS),
        "effort": lambda key: Effort(table.choice(key, [effort.value for effort in Effort])),
        "lines": lambda key: Lines(table.choice(key, LINES)),
        "unfilled": lambda key: Unfilled(table.choice(key, UNFILLED)),
        "keep_background": lambda key: table.truth(key, default=False),
        "only": table.texts,
        "skip": table.texts,
        "one_unit": table.length,
        "gap": table.length,
        "allowance": table.length,
        "cut": lambda key: parse_products(table.choices(key, CUT_WORDS)),
        "junction_holes": lambda key: table.truth(key, default=False),
        "centre_lines": lambda key: table.truth(key, default=False),
        "removal_holes": lambda key: table.truth(key, default=False),
        "grain": lambda key: table.number(key, -LARGEST_ANGLE, LARGEST_ANGLE),
        "without": lambda key: table.choices(key, WITHOUT),
        "title": table.text,
        "author": table.text,
        "paper": lambda key: table.choice(key, PAPERS),
        "cloth_width": table.length,
    }
    wishes: dict[str, Any] = {key: value(key) for key, value in read.items() if key in table}
    profile = table.text("profile", longest=500) if "profile" in table else None
    colourways = table.text("colourways", longest=500) if "colourways" in table else None
    table.finish()
    if profile is not None:
        wishes["profile"] = load_profile(profile, beside=path.parent)
    if colourways is not None:
        wishes["palette"] = read_palette(path.parent / colourways)
    return Wishes(**wishes)


def parse_sizes(texts: Iterable[str]) -> tuple[Size, ...]:
    """Return the sizes that texts like `small=4in` state.

    *Errors*: UsageError when one has no name, a name that no folder can have, or no clear length,
    or when two have one name.
    """
    sizes: dict[str, Size] = {}
    for text in texts:
        name, equals, length = text.partition("=")
        name = name.strip()
        if not equals:
            what = f"--size {text!r} has no name"
            raise UsageError.because("JOB-010", what, "Write NAME=LENGTH, such as small=4in")
        problem = _name_problem(name, sizes)
        if problem:
            raise UsageError.because("JOB-011", f"--size {text!r}: {problem}", _NAME_ADVICE)
        sizes[name.casefold()] = Size(name, parse_option(f"--size {name}", length))
    return tuple(sizes.values())


def parse_measure(text: str) -> str:
    """Return a measure after checking it.

    *Errors*: UsageError when it is none.
    """
    if not _MEASURE.fullmatch(text):
        raise UsageError.because("JOB-013", f"--measure can't be {text!r}", f"Use {_MEASURE_WORDS}")
    return text


def parse_formats(text: str) -> tuple[str, ...]:
    """Return the formats in a list like `svg,dxf`.

    *Errors*: UsageError when one is unknown or named twice, or there is none.
    """
    words = tuple(word.strip().lower() for word in text.split(","))
    if len(set(words)) != len(words) or any(word not in FORMATS for word in words):
        allowed = f"Use {' or '.join(FORMATS)}, or several with commas between: {','.join(FORMATS)}"
        raise UsageError.because("JOB-014", f"--formats can't be {text!r}", allowed)
    return words


def parse_line(option: str, text: str) -> str:
    """Return one line of text given to an option, without blanks about it.

    *Errors*: UsageError when it is empty, very long or more than a line.
    """
    text = text.strip()
    if not text or len(text) > LONGEST_LINE or not text.isprintable():
        what = f"{option} can't be {text[:40]!r}"
        raise UsageError.because("JOB-016", what, f"Write one line of 1 to {LONGEST_LINE} letters")
    return text


def parse_products(words: Iterable[str]) -> tuple[Product, ...]:
    """Return the products that words out of CUT_WORDS stand for, each once, in their usual order."""
    asked = set(words)
    return tuple(product for product in Product if asked & {product.value, ALL})


def parse_option(option: str, length: str) -> float:
    """Return the length (mm) given to an option; a message about a mistake in it starts with `option`.

    *Errors*: UsageError, as for parse_length.
    """
    try:
        return parse_length(length)
    except UsageError as error:
        (finding,) = error.findings
        raise UsageError.because(finding.code, f"{option}: {finding.what}", finding.advice) from error


def _sizes_in(table: Table) -> Iterable[Size]:
    seen: dict[str, Size] = {}
    if not table.names:
        table.reject("", "is empty", 'Allowed are lines such as small = "4in"')
    for name in table.names:
        problem = _name_problem(name, seen)
        if problem:
            table.reject(name, f"can't be a size: {problem}", _NAME_ADVICE)
        seen[name.casefold()] = Size(name, table.length(name))
    return seen.values()


def _name_problem(name: str, seen: dict[str, Size]) -> str:
    """Return why a size can't have this name, or nothing."""
    if not name or name != safe_name(name) or name.casefold() == MANIFEST:
        return f"no folder can be called {name!r}"
    return f"{name!r} is there twice" if name.casefold() in seen else ""
