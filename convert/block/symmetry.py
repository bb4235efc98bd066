"""Is the block its own mirror image? Then it does not matter which side of the papers faces up.

Only outlines and seams count, not fabrics. A mirror line passes through the block's centroid and
carries pieces to pieces: the rarest kind of piece, by template and distance from the centroid, gives
the few lines to try, each halfway between one of them and another (or itself).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.labels import ranks
from convert.geometry.index import box_pairs_between
from convert.geometry.measure import distances_to, midpoint
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.congruence import Complexes
    from convert.block.model import Piece, Template
    from convert.geometry.chain import Floats


def is_own_mirror(
    pieces: Sequence[Piece], templates: Sequence[Template], centroid: Floats, tolerance: float
) -> bool:
    """Return whether some mirror line maps the pieces, each as a whole, onto the pieces.

    *Shapes*: `centroid` (F, 2), of the pieces in their order. *Units*: `tolerance` in mm, the
    largest distance between a mirrored outline and the piece it falls on, beyond their own misfits.
    """
    if any(t.reversed_count != t.count and not t.own_mirror for t in templates):
        return False
    area = np.array([p.area for p in pieces])
    template = np.array([p.template for p in pieces])
    middle = (centroid * area[:, None]).sum(axis=0) / area.sum()
    away = to_complex(centroid - middle)
    radius = np.abs(away)
    place_of = to_complex(middle)
    kinds = np.stack((template, ranks(radius, tolerance)), axis=1)
    kind, count = np.unique(kinds, axis=0, return_inverse=True, return_counts=True)[1:]
    kind = kind.reshape(-1)
    turn = np.array([complex(p.placement.a, p.placement.b) for p in pieces])
    shift = np.array([complex(p.placement.dx, p.placement.dy) for p in pieces])
    flipped = np.array([p.reversed for p in pieces])
    probes = [_probes(t) for t in templates]

    def maps_onto(doubled: complex) -> bool:
        """Tell whether the mirror z -> doubled conj(z), about the centroid, carries the block onto itself."""
        image = doubled * away.conj()
        own, other = _meeting(image, away, 2 * tolerance)
        fits = template[own] == template[other]
        own, other = own[fits], other[fits]
        held = np.zeros(len(pieces), bool)
        for number, points in enumerate(probes):
            rows = np.flatnonzero(template[own] == number)
            if not len(rows):
                continue
            i, j = own[rows], other[rows]
            there = np.where(flipped[i][:, None], points.conj(), points)
            there = there * turn[i][:, None] + shift[i][:, None]
            there = doubled * (there - place_of).conj() + place_of
            back = (there - shift[j][:, None]) / turn[j][:, None]
            back = np.where(flipped[j][:, None], back.conj(), back)
            xy = np.stack((back.real.ravel(), back.imag.ravel()), axis=1)
            off = distances_to(templates[number].outline, xy).reshape(back.shape).max(axis=1)
            held[i[off <= tolerance]] = True
        return bool(held.all())

    ring_of_one = np.flatnonzero(radius > tolerance)
    if not len(ring_of_one):
        # One piece, or pieces within each other, all about one point: try the template's own mirrors.
        return all(t.own_mirror for t in templates) and any(
            maps_onto(complex(d)) for d in _mirrors_of(pieces[0], templates[pieces[0].template], place_of)
        )
    rarest = ring_of_one[np.lexsort((kind[ring_of_one], count[kind[ring_of_one]]))[0]]
    partners = np.flatnonzero(kind == kind[rarest])
    return any(
        maps_onto(complex(away[rarest] * away[q] / (radius[rarest] * radius[q]))) for q in partners.tolist()
    )


def _probes(template: Template) -> Complexes:
    """Return the vertices and segment middles of a template as complex numbers."""
    s = template.outline.segments
    return to_complex(np.concatenate((s.start, midpoint(s))))


def _mirrors_of(piece: Piece, template: Template, middle: Complexes) -> Complexes:
    """Return candidate mirrors of one central piece: its first vertex onto every vertex and every middle."""
    points = _probes(template)
    points = points.conj() if piece.reversed else points
    points = complex(piece.placement.a, piece.placement.b) * points
    points += complex(piece.placement.dx, piece.placement.dy) - middle
    points = points[np.abs(points) > 0]
    first = points[np.argmax(np.abs(points))]
    across = points * first
    return np.asarray(across / np.abs(across))


def _meeting(a: Complexes, b: Complexes, distance: float) -> tuple[np.ndarray, np.ndarray]:
    """Return index pairs (i, j) of points a[i] and b[j] that lie within a square of about `distance`."""
    half = distance / 2

    def boxes(z: Complexes) -> Floats:
        return np.stack((z.real - half, z.imag - half, z.real + half, z.imag + half), axis=1)

    return box_pairs_between(boxes(a), boxes(b))
