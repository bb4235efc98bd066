"""Seams that touch where they meet, kept from crossing there by what their fit leaves.

Two lines that part from each other without an angle are told by two curves, each a little off. If their
directions in the knot differ the wrong way round, they cross once more a hair's breadth from it. Then both
get one direction, save for a trace that keeps them apart.
"""

from __future__ import annotations

from cmath import phase
from dataclasses import replace
from math import atan, radians, tan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from convert.block.centreline import Seam

ONE_WAY = radians(4.0)
"""Seams that leave a knot within this angle of each other may be meant to touch."""

SOON = 0.3
"""They cross by mistake if that is within such a share of their lengths …"""

HIDDEN = 0.05
"""… and if, until they do, they are no more than such a share of a line's width apart."""

TRACE = 1e-4
"""Radians that are left between them, for arithmetic: a thousandth of a mm after 10 mm."""


def kept_apart(seams: list[Seam], width: float) -> list[Seam]:
    """Return the seams; two that leave one knot side by side and would cross at once only touch there."""
    found = list(seams)
    ends: dict[complex, list[tuple[int, bool]]] = {}
    for k, seam in enumerate(found):
        ends.setdefault(seam.start, []).append((k, False))
        ends.setdefault(seam.end, []).append((k, True))
    for here in ends.values():
        for i, a in enumerate(here):
            for b in here[i + 1 :]:
                if a[0] != b[0]:
                    _part(found, a, b, width)
    return found


def _leaving(seam: Seam, last: bool) -> tuple[complex, float]:  # noqa: FBT001
    """Return the chord from one end of a seam to the other, and its bulge on that way."""
    chord = seam.end - seam.start
    return (-chord, -seam.bulge) if last else (chord, seam.bulge)


def _part(seams: list[Seam], a: tuple[int, bool], b: tuple[int, bool], width: float) -> None:
    (chord, bulge), (other, its) = (_leaving(seams[k], last) for k, last in (a, b))
    # How far to the left of the first one the second begins, and how much less it bends to the left.
    apart = phase(other / chord) - 2 * atan(its) + 2 * atan(bulge)
    bent = _curvature(chord, bulge) - _curvature(other, its)
    if bent < 0:
        _part(seams, b, a, width)
        return
    if bent == 0 or not -TRACE < apart < ONE_WAY:
        return
    soon = 2 * apart <= SOON * bent * min(abs(chord), abs(other))
    if not soon or apart * apart > 2 * bent * HIDDEN * width:
        return
    # A line keeps its direction.
    share = 0.0 if bulge == 0 else 1.0 if its == 0 else 0.5
    turn = apart + TRACE
    for (k, last), old, by in ((a, bulge, share * turn), (b, its, (share - 1) * turn)):
        new = tan(atan(old) - by / 2)
        seams[k] = replace(seams[k], bulge=-new if last else new)


def _curvature(chord: complex, bulge: float) -> float:
    return 4 * bulge / (abs(chord) * (1 + bulge * bulge))
