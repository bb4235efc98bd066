"""Every seam once, in long strokes.

*Words.* An **end** is a half-edge seen from the vertex it leaves. Two ends at a vertex are
**joined** when one stroke runs through the vertex from one to the other.

At each vertex the ends that continue each other smoothly are joined, best first: those that turn
least, and of several the one that bends on alike. Then the two ends of one seam that only turns a
corner there are joined. What is joined is one stroke, so a straight
line across many pieces is cut in one go.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.block.model import OUTSIDE
from convert.geometry.chain import Chain, Segments
from convert.geometry.edit import merge_smooth
from convert.geometry.measure import end_tangent, lengths, start_tangent, sweep

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.model import PlanarMap
    from convert.geometry.chain import Floats

SMOOTH = pi / 90.0
"""Ends that turn by less than this (2 degrees) are one line to the eye and to a blade."""
BEND = 0.01
"""Radians of turn that count as much as one radian of difference in bend, so that a circle goes on
as itself where circles touch."""


def seam_chains(planar: PlanarMap, tolerance: float) -> tuple[Chain, ...]:
    """Return all edges that have a piece on both sides, each once, as few long chains.

    Vertices in which a chain goes straight on, or on along its circle, within `tolerance` (mm) are
    left out. Chains that return to their start are closed.
    """
    inner = (planar.face_of[0::2] != OUTSIDE) & (planar.face_of[1::2] != OUTSIDE)
    partner = _joined(planar, inner)
    used = np.zeros(planar.edge_count, dtype=bool)
    chains = []
    # A stroke starts at an end without a partner; what is left after those are closed ones.
    for wants_partner in (False, True):
        for half in np.flatnonzero(np.repeat(inner, 2)).tolist():
            if used[half // 2] or (partner[half] >= 0) != wants_partner:
                continue
            run, last, closed = [], half, False
            while True:
                run.append(last)
                used[last // 2] = True
                following = int(partner[last ^ 1])
                if following < 0:
                    break
                if used[following // 2]:
                    closed = following == half
                    break
                last = following
            chains.append(merge_smooth(_chain(planar, run, closed=closed), tolerance))
    return tuple(chains)


def _joined(planar: PlanarMap, inner: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each half-edge the one that a stroke goes on with, arriving against it, or -1."""
    leaving, bend, length, vertex = _leaving(planar)
    partner = np.full(2 * planar.edge_count, -1, dtype=np.int64)
    halves = np.flatnonzero(np.repeat(inner, 2))
    halves = halves[np.argsort(vertex[halves], kind="stable")]
    breaks = np.flatnonzero(np.diff(vertex[halves])) + 1
    for ends in np.split(halves, breaks):
        if len(ends) < 2:
            continue
        i, j = np.triu_indices(len(ends), 1)
        # Two ends go straight through when one leaves against the other.
        first, second = ends[i], ends[j]
        turn = np.abs(np.angle(-leaving[first] * leaving[second].conj()))
        other_bend = np.abs(bend[first] + bend[second]) * np.minimum(length[first], length[second])
        for k in np.argsort(np.round(turn + BEND * other_bend, 9), kind="stable"):
            a, b = first[k], second[k]
            if turn[k] < SMOOTH and a ^ 1 != b and partner[a] < 0 and partner[b] < 0:
                partner[a], partner[b] = b, a
        _join_corners(planar, ends[partner[ends] < 0], partner)
    return partner


def _join_corners(planar: PlanarMap, ends: NDArray[np.int64], partner: NDArray[np.int64]) -> None:
    """Join the ends of a seam that turns a corner at this vertex: exactly two have the same two faces."""
    sides: dict[tuple[int, int], list[int]] = {}
    for end in ends.tolist():
        faces = sorted((int(planar.face_of[end]), int(planar.face_of[end ^ 1])))
        sides.setdefault((faces[0], faces[1]), []).append(end)
    for same in sides.values():
        if len(same) == 2 and same[0] ^ 1 != same[1]:
            partner[same[0]], partner[same[1]] = same[1], same[0]


def _leaving(planar: PlanarMap) -> tuple[NDArray[np.complex128], Floats, Floats, NDArray[np.int64]]:
    """Return for each half-edge its direction where it starts (complex), curvature, length and start.

    Curvature is in radians per mm, positive to the left.
    """
    table = Segments(planar.points[planar.start], planar.points[planar.end], planar.bulge)
    first, last = start_tangent(table), end_tangent(table)
    leaving = np.empty(2 * planar.edge_count, dtype=np.complex128)
    leaving[0::2] = first[:, 0] + 1j * first[:, 1]
    leaving[1::2] = -(last[:, 0] + 1j * last[:, 1])
    vertex = np.empty(2 * planar.edge_count, dtype=np.int64)
    vertex[0::2], vertex[1::2] = planar.start, planar.end
    length = np.repeat(lengths(table), 2)
    bend = np.repeat(sweep(table), 2) / length
    bend[1::2] *= -1.0
    return leaving, bend, length, vertex


def _chain(planar: PlanarMap, run: list[int], *, closed: bool) -> Chain:
    halves = np.asarray(run)
    edges, backward = halves // 2, (halves & 1).astype(bool)
    first = np.where(backward, planar.end[edges], planar.start[edges])
    last = np.where(backward, planar.start[edges], planar.end[edges])
    bulge = np.where(backward, -planar.bulge[edges], planar.bulge[edges])
    vertices = first if closed else np.append(first, last[-1])
    return Chain(planar.points[vertices], bulge, closed=closed)
