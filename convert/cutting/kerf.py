"""Kerf: cuts moved to the waste side by half of what the tool takes away, so that what is kept is true.

Outer cuts grow and inner cuts shrink. Corners are mitred, which leaves the kept corner sharp. In a
hollow corner a round tool leaves a fillet of half the kerf's radius: nothing can be done about that.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from convert.cutting.sheet import Purpose
from convert.errors import Finding, OutputError, Severity
from convert.geometry.edit import reverse
from convert.geometry.measure import area
from convert.geometry.offset import Corners, offset_many
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.cutting.parts import Part
    from convert.cutting.sheet import Stroke
    from convert.geometry.chain import Chain

MITRE = 4.0
"""In halves of the kerf: where a mitre is cut square. Anything over 1 leaves the kept corner whole."""
_SIDE = {Purpose.OUTER: 1.0, Purpose.INNER: -1.0}


def parts_for_kerf(parts: Sequence[Part], kerf: float) -> tuple[Part, ...]:
    """Return parts with every cut moved to its waste side by half of `kerf` (mm).

    *Errors*: OutputError (CUT-016, a finding per part) when the tool is wider than a slot or a hole.
    """
    if kerf == 0.0:
        return tuple(parts)
    strokes = [stroke for part in parts for stroke in part.strokes]
    names = [part.label for part in parts for _ in part.strokes]
    moved = iter(strokes_for_kerf(strokes, kerf, names))
    done = []
    for part in parts:
        own = tuple(next(moved) for _ in part.strokes)
        outer = next(stroke.chain for stroke in own if stroke.purpose is Purpose.OUTER)
        done.append(replace(part, strokes=own, outline=outer))
    return tuple(done)


def strokes_for_kerf(strokes: Sequence[Stroke], kerf: float, names: Sequence[str]) -> tuple[Stroke, ...]:
    """Return strokes with outer and inner cuts moved by half of `kerf` (mm); others stay.

    `names` says in errors which piece each stroke belongs to.
    *Errors*: OutputError (CUT-016), as for `parts_for_kerf`.
    """
    if kerf == 0.0:
        return tuple(strokes)
    found = list(strokes)
    failed: dict[str, None] = {}
    for purpose, side in _SIDE.items():
        rows = [number for number, stroke in enumerate(strokes) if stroke.purpose is purpose]
        chains = [strokes[number].chain for number in rows]
        for number, chain in zip(rows, _moved(chains, 0.5 * side * kerf), strict=True):
            if chain is None:
                failed[names[number]] = None
            else:
                found[number] = replace(strokes[number], chain=chain)
    if failed:
        raise OutputError(*(_too_narrow(name, kerf) for name in failed))
    return tuple(found)


def _moved(chains: Sequence[Chain], distance: float) -> Iterator[Chain | None]:
    """Yield each outline moved outward by `distance`, running as before; None where it is not one."""
    for chain, parallels in zip(chains, offset_many(chains, distance, Corners.mitred(MITRE)), strict=True):
        if len(parallels) != 1:
            yield None
        else:
            (parallel,) = parallels
            yield parallel.chain if area(chain) > 0.0 else reverse(parallel.chain)


def _too_narrow(name: str, kerf: float) -> Finding:
    return Finding(
        "CUT-016",
        Severity.ERROR,
        f"a slot or hole of {name} is narrower than the {format_mm(kerf)} that the tool takes away",
        "Ask for a larger size, widen it in the drawing, or use a profile with less kerf",
        value=kerf,
    )


def shared_cut_loss(kerf: float) -> Finding:
    """Return the finding that says what pieces lose where two of them share one cut."""
    lost = format_mm(0.5 * kerf)
    return Finding(
        "CUT-017",
        Severity.WARNING,
        f"the tool takes {format_mm(kerf)} away and neighbours share one cut: every piece of the assembled "
        f"block comes out {lost} smaller along each edge that it shares, {format_mm(kerf)} between two such "
        "edges; its outside is true",
        "Cut the separate pieces for exact sizes",
        value=0.5 * kerf,
    )
