"""Parts with strips narrower than the tool can leave standing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.cutting.sheet import Product
from convert.errors import Finding, Severity
from convert.profile import Tool
from convert.units import format_mm

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.cutting.parts import CutChoices
    from convert.profile import Profile

_WHO = {Tool.BLADE: "a blade", Tool.LASER: "a laser", Tool.DIE: "a die", Tool.SCISSORS: "scissors"}


def too_small(block: Block, choices: CutChoices, profile: Profile) -> tuple[Finding, ...]:
    """Return a finding for each product that has parts narrower than the profile's smallest feature.

    A part's width is that of the largest circle in it, a window template's that of its rim.
    """
    least = profile.smallest.feature
    found = []
    small = [t for t in block.templates if 2.0 * t.clearance < least]
    if small and Product.FINISHED in choices.products:
        narrowest = min(2.0 * t.clearance for t in small)
        names = ", ".join(t.label for t in small[:8]) + (" …" if len(small) > 8 else "")
        what = (
            f"templates {names} are narrower than the {format_mm(least, digits=2)} that "
            f"{_WHO[profile.tool]} can leave standing: {format_mm(narrowest, digits=2)} at the widest place"
        )
        found.append(_finding(what, narrowest))
    if Product.WINDOW in choices.products and choices.allowance_mm < least:
        what = (
            f"the rim of a window template is as wide as the allowance, {format_mm(choices.allowance_mm)}; "
            f"{_WHO[profile.tool]} can leave {format_mm(least, digits=2)} standing"
        )
        found.append(_finding(what, choices.allowance_mm))
    return tuple(found)


def _finding(what: str, value: float) -> Finding:
    return Finding(
        "CUT-051", Severity.WARNING, what, "Expect it to tear: make it larger or wider", value=value
    )
