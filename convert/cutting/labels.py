"""Labels: where they lie in a shape and how large they can be."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from convert.cutting.letters import text_width
from convert.cutting.sheet import Lettering, Purpose
from convert.errors import Finding, Severity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.similarity import Similarity

LARGEST, SMALLEST = 5.0, 1.2
"""Height of capitals, mm. Common practice asks for about 2 mm; under 1.2 nobody reads them."""
SHARE = 0.9
"""Share of the free circle that a label may fill."""
WIDER = 1.2
"""Fonts of other programs may be wider than our letters by this factor."""


def label(
    text: str, at: tuple[float, float], clearance: float, placement: Similarity, copy: int
) -> Lettering | None:
    """Return `text` in the free circle of radius `clearance` (mm) at `at`; None if it would be tiny.

    It is upright whatever `placement` does.
    """
    width, height = WIDER * text_width(text, 1.0), 1.0
    size = min(LARGEST, SHARE * 2.0 * clearance / hypot(width, height))
    if size < SMALLEST:
        return None
    return Lettering(text, placement.point(*at), size, 0.0, Purpose.LETTER, copy)


def unlabelled(texts: Sequence[str]) -> tuple[Finding, ...]:
    """Return the finding that these labels were left out, or nothing."""
    if not texts:
        return ()
    names = sorted(set(texts), key=lambda text: (len(text), text))
    shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
    return (
        Finding(
            "CUT-003",
            Severity.WARNING,
            f"no room for a readable label in {shown}",
            "Mark these pieces by hand, or make the block larger",
            value=float(len(names)),
        ),
    )
