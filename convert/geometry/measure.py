"""All measures of segments, chains and regions under one roof."""

from convert.geometry.contain import contains, windings
from convert.geometry.nearest import distances_to, nearest
from convert.geometry.pole import inner_point
from convert.geometry.region import area, box, centroid, length, second_moments
from convert.geometry.segment import (
    area_terms,
    boxes,
    centre,
    end_tangent,
    lengths,
    midpoint,
    point_at,
    radius,
    start_tangent,
    sweep,
)

__all__ = [
    "area",
    "area_terms",
    "box",
    "boxes",
    "centre",
    "centroid",
    "contains",
    "distances_to",
    "end_tangent",
    "inner_point",
    "length",
    "lengths",
    "midpoint",
    "nearest",
    "point_at",
    "radius",
    "second_moments",
    "start_tangent",
    "sweep",
    "windings",
]
