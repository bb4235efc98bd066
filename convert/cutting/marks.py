"""Marks: what is drawn inside a piece so that it is sewn to the right neighbour at the right place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MarkChoices:
    """Which marks a maker wants.

    `balance`: ticks along curved seams, at the same places on both pieces. `junctions`: a tick where
    a neighbour's corner meets a piece's smooth side. `seam_numbers`: a number along each inner seam,
    the same on both pieces.
    """

    balance: bool = True
    junctions: bool = True
    seam_numbers: bool = True
