"""What can hurt a maker, by tool; printed once for each run, kept in every manifest, and in the README.

These are the usual cautions and no instructions: they defer to the machine's manual, to local codes and
to licensed practice.
"""

from __future__ import annotations

from typing import Final

from convert.profile import Tool

GENERAL: Final = (
    "The files are drawings and hold no machine settings. Follow the machine's manual, the material's data "
    "sheet, your workplace's rules and local law, make a test cut first, and leave wiring, exhaust and press "
    "guarding to people licensed for it."
)

BY_TOOL: Final = {
    Tool.SCISSORS: (
        "Blades are razor sharp. Cut away from yourself, keep fingers off the ruler's edge, close a rotary "
        "cutter after every cut, keep blades from children, and wrap old ones before you throw them away."
    ),
    Tool.BLADE: (
        "Blades are razor sharp, and the carriage moves by itself. Keep fingers, hair and sleeves away from "
        "it, stop the machine before you reach in, and cap or wrap every blade that is out of it."
    ),
    Tool.LASER: (
        "Never leave a running laser alone: paper and acrylic catch fire within seconds. Keep the lid and "
        "interlocks working, the exhaust on, the bed clean and an extinguisher of the right kind at hand. "
        "Never cut PVC or vinyl (imitation leather is often one of them): it gives off hydrogen chloride, "
        "which harms lungs and machine. Nor polycarbonate, ABS, or any plastic that you can't name."
    ),
    Tool.DIE: (
        "Die presses crush, and steel rule is sharp. Keep hands out, use guards or two-hand controls, cut "
        "the power before you clear a jam, and never leave a die lying with its rule up."
    ),
}
"""*Source*: what makerspaces and universities tell users of lasers; 29 CFR 1910.212 and 1910.217 on guarding
presses; common practice with blades.
"""


def cautions(tool: Tool) -> tuple[str, ...]:
    """Return what to look out for with a tool, the tool's own dangers first."""
    return BY_TOOL[tool], GENERAL
