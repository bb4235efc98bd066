"""Profiles: a machine and its sheet, as typed values read from TOML.

All lengths are millimetres inside; in the files they are written with their unit ("12in", "3 mm").
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from convert.cutting.sheet import Purpose


class Tool(Enum):
    """What cuts."""

    BLADE = "blade"
    LASER = "laser"
    DIE = "die"
    SCISSORS = "scissors"


@dataclass(frozen=True, slots=True)
class Margins:
    """Unusable borders of the sheet, mm."""

    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Layer:
    """How one purpose is written: layer name, `#rrggbb` colour, stroke width in mm (for the eye only)."""

    name: str
    colour: str
    width: float


@dataclass(frozen=True, slots=True)
class SvgSettings:
    """`units_per_inch`: 96 by the CSS standard, 72 or 90 by older habits. `digits` after the point."""

    units_per_inch: float
    digits: int


@dataclass(frozen=True, slots=True)
class DxfSettings:
    """`version` is "R2000" or "R12", `unit` "mm" or "in"; `digits` after the point."""

    version: str
    unit: str
    digits: int


@dataclass(frozen=True, slots=True)
class Profile:
    """One machine (or a person with scissors) and the sheet it works on. Lengths in mm."""

    name: str
    title: str
    tool: Tool
    width: float
    height: float
    margins: Margins
    gap: float
    layers: Mapping[Purpose, Layer]
    svg: SvgSettings
    dxf: DxfSettings
