"""The edges of a template: what lies between its corners."""

from __future__ import annotations

from math import pi, radians
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.measure import lengths

if TYPE_CHECKING:
    from convert.block.model import Template
    from convert.geometry.chain import Floats

SMOOTH = radians(0.5)
"""A vertex where an outline turns by less than this is no corner."""


def edge_lengths(template: Template) -> tuple[list[int], Floats]:
    """Return where the edges of an outline start (vertex numbers) and how long they are, mm.

    An edge ends at a corner, and where a straight part meets a curved one smoothly. A round
    template has one edge.
    """
    table = template.outline.segments
    curved = table.is_arc
    breaks = (np.abs(template.corners - pi) > SMOOTH) | (curved != np.roll(curved, 1))
    starts = np.flatnonzero(breaks)
    if not len(starts):
        starts = np.zeros(1, dtype=np.intp)
    long = lengths(table)
    turned = np.roll(long, -int(starts[0]))
    return starts.tolist(), np.add.reduceat(turned, starts - starts[0])
