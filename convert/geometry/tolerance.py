"""Tolerances, named by what they mean, as lengths in millimetres.

The designer's `gap` (visible) and numerical sameness (`same_point`) are different things and
never share a value. A Tolerances record is made once for a drawing, scaled to its size, and
passed to whoever needs it; there are no module-level tolerances.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tolerances:
    """All lengths in millimetres.

    same_point: two computed points nearer than this are one point (rounding, not drawing).
    gap: ends of drawn lines nearer than this to something were meant to touch it.
    fit: the largest distance between a drawn curve and the arcs that stand for it.
    shape: two pieces whose outlines can be laid within this of each other share a template.
    output_step: the smallest step of a written coordinate.
    """

    same_point: float
    gap: float
    fit: float
    shape: float
    output_step: float = 1e-6

    @classmethod
    def for_extent(cls, extent: float) -> Tolerances:
        """Return the defaults for a drawing whose longer side is `extent` mm.

        A file that stores coordinates with three decimals of a millimetre, or of a pixel, closes
        its shapes to about 0.001 of those; `gap` sits above that and far below what an eye sees.
        """
        return cls(
            same_point=max(extent, 1.0) * 1e-9,
            gap=max(extent, 1.0) * 1e-4,
            fit=min(0.005, extent * 0.005 / 300.0) if extent > 0 else 0.005,
            shape=max(extent, 1.0) * 5e-4,
        )
