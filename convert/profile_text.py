"""A profile as text: TOML with every value in force and a comment for each, to be read and edited."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.profile import ANY_TURN, NO_TURN, Home, StartAt, Tool
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from enum import Enum

    from convert.profile import Profile


def format_profile(profile: Profile) -> str:
    """Return the profile as TOML with every value in force, defaults included; reading it gives the same."""
    return "\n".join([*_general(profile), *_cutting(profile), *_files(profile), *_layers(profile)]) + "\n"


def _general(profile: Profile) -> list[str]:
    margins, smallest = profile.margins, profile.smallest
    return [
        '# Lengths are written in quotes with their unit: "3mm", "1/4in".',
        f"title = {_quoted(profile.title)}",
        f"# What cuts: {_words(Tool)}.",
        f"tool = {_quoted(profile.tool.value)}",
        "# Least distance between pieces on a sheet.",
        f"gap = {_length(profile.gap)}",
        "# Width of what the tool takes away: cuts move to the waste side by half of it.",
        "# Cut a test piece: kerf = drawn size - measured size. For a blade it is nothing.",
        f"kerf = {_length(profile.kerf)}",
        f'# How pieces may be turned on the sheet: "{ANY_TURN}", "{NO_TURN}", or in steps of degrees.',
        f"rotation = {_turn(profile.turn_step_deg)}",
        "",
        "[sheet]",
        f"width = {_length(profile.width)}",
        f"height = {_length(profile.height)}",
        "",
        "# Borders that stay empty.",
        "[margins]",
        *(f"{side} = {_length(getattr(margins, side))}" for side in ("left", "right", "top", "bottom")),
        "",
        '# The smallest things that the tool can make; "0mm" is no limit.',
        "[smallest]",
        "# The narrowest strip or piece that survives.",
        f"feature = {_length(smallest.feature)}",
        "# The least distance between two cuts.",
        f"gap = {_length(smallest.gap)}",
        "# The least radius of a curve.",
        f"bend = {_length(smallest.bend)}",
        "",
        "# From where on to warn.",
        "[advice]",
        "# Corners sharper than so many degrees.",
        f"sharp_corner_deg = {_number(profile.advice.sharp_corner_deg)}",
        "# Edges shorter, pieces narrower at their widest place, and curves tighter (radius) than this.",
        *(f"{key} = {_length(getattr(profile.advice, key))}" for key in _ADVICE),
    ]


_ADVICE = ("short_edge", "small_piece", "tight_curve")


def _cutting(profile: Profile) -> list[str]:
    order, ends, nicks = profile.order, profile.ends, profile.nicks
    return [
        "",
        "[cut_order]",
        "# Where a closed cut begins: in the middle of a straight edge for a swivel blade, at a corner",
        f"# for a beam. One of {_words(StartAt)}.",
        f"start = {_quoted(order.start.value)}",
        "# true: pieces at the far side (the top of the sheet) are cut first, for sheets that are fed.",
        f"far_side_first = {_truth(order.far_side_first)}",
        f"# Where the tool waits: {_words(Home)}.",
        f"home = {_quoted(order.home.value)}",
        "",
        "[ends]",
        "# true: a cut that goes all round is a closed path. false: an open one that comes back to its",
        "# start, and goes on by the overcut, so that a swivel blade leaves no corner hanging.",
        f"closed = {_truth(ends.closed)}",
        f"overcut = {_length(ends.overcut)}",
        "",
        '# Uncut bridges that hold parts in their sheet, so long and so far apart; length "0mm" is none.',
        "[nicks]",
        f"length = {_length(nicks.length)}",
        f"spacing = {_length(nicks.spacing)}",
    ]


def _files(profile: Profile) -> list[str]:
    return [
        "",
        "# SVG units per inch: 96 by the standard; some older programs take 72 or 90.",
        "[svg]",
        f"units_per_inch = {_number(profile.svg.units_per_inch)}",
        f"digits = {profile.svg.digits}",
        "",
        '# DXF version "R2000" or "R12", unit "mm" or "in"; digits after the point.',
        "[dxf]",
        f"version = {_quoted(profile.dxf.version)}",
        f"unit = {_quoted(profile.dxf.unit)}",
        f"digits = {profile.dxf.digits}",
        "",
        "# Layers: the name, the colour, and the width of lines on screen and paper.",
    ]


def _layers(profile: Profile) -> list[str]:
    lines = []
    for purpose, layer in profile.layers.items():
        lines += [f"[layers.{purpose.value}]", f"name = {_quoted(layer.name)}"]
        lines += [f"colour = {_quoted(layer.colour)}", f"width = {_length(layer.width)}", ""]
    return lines[:-1]


def _turn(step: float | None) -> str:
    if step is None:
        return _quoted(ANY_TURN)
    return _number(step) if step else _quoted(NO_TURN)


def _words(kind: type[Enum]) -> str:
    *most, last = (_quoted(member.value) for member in kind)
    return f"{', '.join(most)} or {last}"


def _truth(value: bool) -> str:  # noqa: FBT001 (a value, not a switch)
    return "true" if value else "false"


def _number(value: float) -> str:
    return str(int(value)) if value.is_integer() else repr(value)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _length(mm: float) -> str:
    inches = format_inches(mm)
    metric = mm == 0.0 or "." in inches or "/64" in inches
    return _quoted(format_mm(mm, digits=6).replace(" ", "") if metric else inches.removesuffix(" in") + "in")
