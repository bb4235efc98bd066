"""Colourways: the block in other colours, and names for its cloths, read from a TOML file.

    [fabrics]                     # optional: names for the colours of the drawing
    "#235347" = "forest"

    [colourways.midnight]         # each makes a picture; a cloth that is not named keeps its colour
    forest = "#101c3a"
    "#e56399" = "#d9d9e8"

A **fabric** is a colour of the drawing; all pieces of that colour are cut from one cloth.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from convert.output import safe_name
from convert.settings import read_table, read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from convert.block.model import Block
    from convert.settings import Table

COLOUR: Final = "#[0-9a-fA-F]{6}"
_COLOUR_WORDS: Final = 'a colour in quotes such as "#235347"'
_LONGEST_NAME: Final = 24
UNCOLOURED: Final = "no colour"
"""The name of the cloth of pieces that have no fill in the drawing."""


@dataclass(frozen=True, slots=True)
class Fabric:
    """A cloth: its colour in the drawing (None where there is none), its name, and its area in the block."""

    colour: str | None
    name: str
    area: float


@dataclass(frozen=True, slots=True)
class Colourway:
    """A name, and the colour that stands instead of each colour of the drawing."""

    name: str
    colours: Mapping[str | None, str]


@dataclass(frozen=True, slots=True)
class Palette:
    """What a colourways file says: names of the drawing's colours, and colourways by its own words."""

    names: Mapping[str, str]
    wishes: tuple[tuple[str, Mapping[str, str]], ...]
    file: str = ""


NO_PALETTE: Final = Palette(MappingProxyType({}), ())


def read_palette(path: Path) -> Palette:
    """Return what a colourways file says.

    *Errors*: ProfileError with one finding for each mistake.
    """
    return parse_palette(read_text(path), str(path))


def parse_palette(text: str, file: str) -> Palette:
    """Return what a colourways file's text says; `file` is named in messages.

    *Errors*: ProfileError with one finding for each mistake.
    """
    table = read_table(text, file)
    fabrics = table.table("fabrics", optional=True)
    names: dict[str, str] = {}
    for colour in fabrics.names:
        name = fabrics.text(colour, longest=_LONGEST_NAME)
        if not _is_colour(colour):
            fabrics.reject(colour, "is no colour", f"Allowed is {_COLOUR_WORDS}")
        elif colour.lower() in names:
            fabrics.reject(colour, "is there twice", "Give each colour one name")
        elif name.casefold() in {known.casefold() for known in names.values()} or _is_colour(name):
            fabrics.reject(colour, f"can't be {name!r}", "Give each colour a name of its own")
        names[colour.lower()] = name
    every = table.table("colourways", optional=True)
    wishes = tuple((name, _wish(every, name)) for name in every.names)
    table.finish()
    return Palette(MappingProxyType(names), wishes, file)


def _wish(every: Table, name: str) -> Mapping[str, str]:
    if name != safe_name(name) or len(name) > _LONGEST_NAME:
        every.reject(name, "can't be a file's name", "Use letters, digits and dashes")
    table = every.table(name)
    return MappingProxyType({key: table.matching(key, COLOUR, _COLOUR_WORDS).lower() for key in table.names})


def fabrics_of(block: Block, palette: Palette = NO_PALETTE) -> tuple[Fabric, ...]:
    """Return the cloths of a block, that of the largest area first, with their names.

    A colour without a name is called after its place in this order.
    """
    area: dict[str | None, float] = {}
    for piece in block.pieces:
        area[piece.fabric] = area.get(piece.fabric, 0.0) + piece.area
    whole = max(block.width, block.height)
    order = sorted(area, key=lambda colour: (-round(area[colour] / whole**2, 9), colour or ""))
    fabrics = []
    for number, colour in enumerate(order, start=1):
        usual = UNCOLOURED if colour is None else f"Fabric {number}"
        name = palette.names.get(colour.lower(), usual) if colour is not None else usual
        fabrics.append(Fabric(colour, name, area[colour]))
    return tuple(fabrics)


def as_drawn(fabrics: Iterable[Fabric]) -> dict[str | None, str]:
    """Return the drawing's own colours."""
    return {fabric.colour: fabric.colour for fabric in fabrics if fabric.colour is not None}


def colourways_of(block: Block, palette: Palette) -> tuple[Colourway, ...]:
    """Return the colourways of a block.

    *Errors*: ProfileError when one recolours a cloth that the block hasn't got, or names one that it hasn't.
    """
    fabrics = fabrics_of(block, palette)
    known: dict[str, str | None] = {}
    for fabric in fabrics:
        known[fabric.name.casefold()] = fabric.colour
        if fabric.colour is not None:
            known[fabric.colour.lower()] = fabric.colour
    allowed = ", ".join(
        fabric.name if fabric.colour is None else f"{fabric.name} ({fabric.colour})" for fabric in fabrics
    )
    table = read_table("", palette.file)
    for colour in palette.names:
        if colour not in known:
            table.reject(f'fabrics."{colour}"', "is no colour of this drawing", f"It has {allowed}")
    found = []
    for name, wish in palette.wishes:
        colours = as_drawn(fabrics)
        for key, colour in wish.items():
            if key.casefold() not in known:
                table.reject(f'colourways.{name}."{key}"', "is no cloth of this drawing", f"It has {allowed}")
                continue
            colours[known[key.casefold()]] = colour
        found.append(Colourway(name, MappingProxyType(colours)))
    table.finish()
    return tuple(found)


def _is_colour(text: str) -> bool:
    return len(text) == 7 and text[0] == "#" and all(c in "0123456789abcdefABCDEF" for c in text[1:])
