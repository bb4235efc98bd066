"""Profiles: a machine and its sheet, as typed values read from TOML.

All lengths are millimetres inside; in the files they are written with their unit ("12in", "3 mm").
The profiles that come with the program lie in the folder `profiles`; anybody can write more.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from convert.errors import ProfileError
from convert.settings import Table, read_table, read_text
from convert.units import MM_PER_INCH, format_mm

if TYPE_CHECKING:
    from collections.abc import Mapping

    from convert.cutting.sheet import Purpose


class Tool(Enum):
    """What cuts."""

    BLADE = "blade"
    LASER = "laser"
    DIE = "die"
    SCISSORS = "scissors"


class StartAt(Enum):
    """Where a closed cut begins."""

    CORNER = "corner"
    EDGE = "edge"


class Home(Enum):
    """The corner of the sheet where the tool waits."""

    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"


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
class Smallest:
    """The smallest things the tool can make, mm; 0 where it has no limit.

    `feature` is the narrowest strip or piece that survives, `gap` the least distance between two
    cuts (rules, on a die board), `bend` the least radius of a curve.
    """

    feature: float = 0.0
    gap: float = 0.0
    bend: float = 0.0


@dataclass(frozen=True, slots=True)
class Ends:
    """How a closed cut ends: as a closed path, or as an open one that comes back to its start.

    An open one goes on past its start by `overcut` mm, so that a swivel blade leaves no corner hanging.
    """

    closed: bool = True
    overcut: float = 0.0


@dataclass(frozen=True, slots=True)
class OrderSettings:
    """Where closed cuts begin, whether the far side (high y) is cut first, and where the tool waits."""

    start: StartAt = StartAt.EDGE
    far_side_first: bool = False
    home: Home = Home.LOWER_LEFT


@dataclass(frozen=True, slots=True)
class NickSettings:
    """Uncut bridges that hold a part in its sheet: their length and spacing along a cut, mm; 0 is none."""

    length: float = 0.0
    spacing: float = 0.0


@dataclass(frozen=True, slots=True)
class AdviceSettings:
    """From where on a maker is warned: corners sharper, edges shorter, pieces narrower, curves tighter.

    *Source*: the usual values are suggestions; no published limits were found.
    """

    sharp_corner_deg: float = 45.0
    short_edge: float = 12.7
    small_piece: float = 9.525
    tight_curve: float = 19.05


@dataclass(frozen=True, slots=True)
class Profile:
    """One machine (or a person with scissors) and the sheet it works on. Lengths in mm.

    `gap` is the least distance between pieces on a sheet; `kerf` the width of what a cut takes away.
    `turn_step_deg` says how pieces may be turned: None by any angle, 0 not at all, else in such steps.
    """

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
    kerf: float = 0.0
    turn_step_deg: float | None = None
    smallest: Smallest = Smallest()
    ends: Ends = Ends()
    order: OrderSettings = OrderSettings()
    nicks: NickSettings = NickSettings()
    advice: AdviceSettings = AdviceSettings()

    @property
    def by_machine(self) -> bool:
        """True when a machine follows the file, so that the order of cuts matters."""
        return self.tool in {Tool.BLADE, Tool.LASER}


COARSEST_STEP_MM: Final = 1e-4
"""A written coordinate may be off by half a step; sizes are promised to within this."""

WIDEST_KERF_MM: Final = 3.0
"""Six times what makers of lasers state at most: a wider one is a slip."""
LARGEST_LIMIT_MM: Final = 50.0
LONGEST_OVERCUT_MM: Final = 5.0
LONGEST_NICK_MM: Final = 3.0
NICK_SPACINGS: Final = 10.0
"""Nicks are at least so many times their length apart, or the part would hardly be cut."""
ANY_TURN: Final = "any"
NO_TURN: Final = "none"

DEFAULT_LAYERS: Final = {
    "outer": Layer("CUT-OUTER", "#000000", 0.25),
    "inner": Layer("CUT-INNER", "#d55e00", 0.25),
    "seam": Layer("CUT-SEAM", "#0072b2", 0.25),
    "mark": Layer("DRAW-MARK", "#009e73", 0.18),
    "letter": Layer("DRAW-LETTER", "#cc79a7", 0.18),
    "check": Layer("CHECK-ONLY", "#e69f00", 0.13),
}
"""One layer for each purpose, unless a profile says otherwise.

*Source*: colours from the palette of Okabe and Ito, "Color Universal Design" (2008), which people
with any common kind of colour vision can tell apart; widths are ISO 128 line widths.
"""

_LAYER_NAME: Final = r"[A-Z][A-Z0-9_-]{0,30}"
_COLOUR: Final = "#[0-9a-fA-F]{6}"
_LAYER_WORDS: Final = "up to 31 of A-Z, 0-9, - and _, starting with a letter"


def profile_names() -> tuple[str, ...]:
    """Return the names of the profiles that come with the program, in order."""
    return tuple(sorted(name.removesuffix(".toml") for name in _shipped() if name.endswith(".toml")))


def load_profile(wanted: str, *, beside: Path | None = None) -> Profile:
    """Return a profile by the name of one that comes with the program, or by the path of a TOML file.

    A path is a text that ends in `.toml` or has a slash in it; a relative one starts at `beside`,
    or at the current folder.
    *Errors*: ProfileError when there is no such profile, or for everything that is wrong in it.
    """
    if wanted.endswith(".toml") or "/" in wanted or "\\" in wanted:
        path = (beside or Path()) / wanted
        return parse_profile(read_text(path), path.stem, str(path))
    text = _shipped().get(f"{wanted}.toml")
    if text is None:
        raise ProfileError.because("PROFILE-010", f"there is no profile {wanted!r}", _known(wanted))
    return parse_profile(text, wanted, f"{wanted}.toml")


def parse_profile(text: str, name: str, file: str) -> Profile:
    """Return the profile that a TOML text describes.

    *Errors*: ProfileError with one finding, naming `file` and the key path, for each mistake.
    """
    table = read_table(text, file)
    title = table.text("title")
    tool = Tool(table.choice("tool", [tool.value for tool in Tool]))
    sheet = table.table("sheet")
    width, height = sheet.length("width"), sheet.length("height")
    sides = table.table("margins")
    left, right = sides.length("left", allow_zero=True), sides.length("right", allow_zero=True)
    top, bottom = sides.length("top", allow_zero=True), sides.length("bottom", allow_zero=True)
    gap = table.length("gap")
    kerf = table.length("kerf", allow_zero=True, default=0.0, most=WIDEST_KERF_MM)
    turn_step_deg = _turn_step(table)
    smallest = _smallest(table.table("smallest", optional=True))
    ends = _ends(table.table("ends", optional=True))
    order = _order(table.table("cut_order", optional=True))
    nicks = _nicks(table.table("nicks", optional=True))
    advice = _advice(table.table("advice", optional=True))
    layers = _layers(table.table("layers", optional=True))
    svg = _svg(table.table("svg", optional=True))
    dxf = _dxf(table.table("dxf", optional=True))
    table.finish()
    if left + right >= width or top + bottom >= height:
        room = f"The sheet is {format_mm(width)} wide and {format_mm(height)} high"
        table.reject("margins", "leave nothing of the sheet", room)
    elif gap >= min(width - left - right, height - top - bottom):
        table.reject("gap", "is wider than the usable sheet", "Allowed is a length of a few millimetres")
    elif gap < kerf:
        table.reject("gap", "is less than the kerf", f"Allowed is a length of {format_mm(kerf)} or more")
    elif gap < smallest.gap:
        least = f"Allowed is a length of {format_mm(smallest.gap)} or more"
        table.reject("gap", "is less than smallest.gap", least)
    table.finish()
    return Profile(
        name=name,
        title=title,
        tool=tool,
        width=width,
        height=height,
        margins=Margins(left, right, top, bottom),
        gap=gap,
        layers=layers,
        svg=svg,
        dxf=dxf,
        kerf=kerf,
        turn_step_deg=turn_step_deg,
        smallest=smallest,
        ends=ends,
        order=order,
        nicks=nicks,
        advice=advice,
    )


def _turn_step(table: Table) -> float | None:
    """Return the step by which pieces may be turned, degrees: None is any angle, 0 none."""
    allowed = f'Allowed is "{ANY_TURN}", "{NO_TURN}" or degrees that go into 360, such as 90'
    step = table.word_or_number("rotation", (ANY_TURN, NO_TURN), 1, 180, default=ANY_TURN)
    if isinstance(step, str):
        return None if step == ANY_TURN else 0.0
    if abs(360.0 / step - round(360.0 / step)) > 1e-9:
        table.reject("rotation", f"can't be {step:g}", allowed)
    return step


def _smallest(table: Table) -> Smallest:
    usual = Smallest()
    return Smallest(
        table.length("feature", allow_zero=True, default=usual.feature, most=LARGEST_LIMIT_MM),
        table.length("gap", allow_zero=True, default=usual.gap, most=LARGEST_LIMIT_MM),
        table.length("bend", allow_zero=True, default=usual.bend, most=LARGEST_LIMIT_MM),
    )


def _ends(table: Table) -> Ends:
    closed = table.truth("closed", default=True)
    overcut = table.length("overcut", allow_zero=True, default=0.0, most=LONGEST_OVERCUT_MM)
    if closed and overcut > 0.0:
        advice = "Allowed is overcut with closed = false: what runs on past its start is an open path"
        table.reject("overcut", "does not go with closed ends", advice)
    return Ends(closed, overcut)


def _order(table: Table) -> OrderSettings:
    usual = OrderSettings()
    return OrderSettings(
        StartAt(table.choice("start", [start.value for start in StartAt], default=usual.start.value)),
        table.truth("far_side_first", default=usual.far_side_first),
        Home(table.choice("home", [home.value for home in Home], default=usual.home.value)),
    )


def _nicks(table: Table) -> NickSettings:
    length = table.length("length", allow_zero=True, default=0.0, most=LONGEST_NICK_MM)
    spacing = table.length("spacing", allow_zero=True, default=0.0)
    if length > 0.0 and spacing < NICK_SPACINGS * length:
        least = format_mm(NICK_SPACINGS * length)
        table.reject("spacing", "is too short for such nicks", f"Allowed is a length of {least} or more")
    return NickSettings(length, spacing if length > 0.0 else 0.0)


def _advice(table: Table) -> AdviceSettings:
    usual = AdviceSettings()
    return AdviceSettings(
        table.number("sharp_corner_deg", 0, 90, default=usual.sharp_corner_deg),
        table.length("short_edge", allow_zero=True, default=usual.short_edge),
        table.length("small_piece", allow_zero=True, default=usual.small_piece),
        table.length("tight_curve", allow_zero=True, default=usual.tight_curve),
    )


def _layers(table: Table) -> Mapping[Purpose, Layer]:
    from convert.cutting.sheet import Purpose

    layers = {}
    colours: dict[str, str] = {}
    for purpose in Purpose:
        usual = DEFAULT_LAYERS[purpose.value]
        row = table.table(purpose.value, optional=True)
        name = row.matching("name", _LAYER_NAME, _LAYER_WORDS, default=usual.name)
        colour = row.matching("colour", _COLOUR, 'a colour such as "#0072b2"', default=usual.colour)
        layer = Layer(name, colour.lower(), row.length("width") if "width" in row else usual.width)
        if colours.setdefault(layer.name, layer.colour) != layer.colour:
            row.reject("colour", f"is a second one for layer {layer.name}", "Give one colour or another name")
        layers[purpose] = layer
    return MappingProxyType(layers)


def _svg(table: Table) -> SvgSettings:
    units = table.number("units_per_inch", 1, 2540, default=96)
    return SvgSettings(units, _digits(table, MM_PER_INCH / units, 5))


def _dxf(table: Table) -> DxfSettings:
    version = table.choice("version", ("R2000", "R12"), default="R2000")
    unit = table.choice("unit", ("mm", "in"), default="mm")
    return DxfSettings(version, unit, _digits(table, MM_PER_INCH if unit == "in" else 1.0, 6))


def _digits(table: Table, unit_mm: float, usual: int) -> int:
    """Return how many digits follow the point: enough for the promised size, no more than a double has."""
    digits = table.integer("digits", 0, 9) if "digits" in table else usual
    if unit_mm * 10.0**-digits > COARSEST_STEP_MM:
        advice = f"Allow more: the last digit would be over {COARSEST_STEP_MM:g} mm"
        table.reject("digits", f"can't be {digits}", advice)
    return digits


def shipped_text(name: str) -> str | None:
    """Return the text of a profile that comes with the program, comments and all."""
    return _shipped().get(f"{name}.toml")


def _shipped() -> dict[str, str]:
    """Return the shipped files by name. They are few and small, so reading all is quick."""
    from importlib import resources

    folder = resources.files("convert.profiles")
    return {file.name: file.read_text("utf-8") for file in folder.iterdir() if file.name.endswith(".toml")}


def _known(wanted: str) -> str:
    from difflib import get_close_matches

    names = profile_names()
    close = get_close_matches(wanted, names, n=1)
    hint = f"Did you mean {close[0]}? " if close else ""
    return f"{hint}Known are {', '.join(names)}, or give the path of a .toml file"
