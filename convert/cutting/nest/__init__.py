"""Nesting: whole blocks on sheets, as many as fit."""

from convert.cutting.effort import Effort
from convert.cutting.nest.model import Item, Layout, Placed, Rotation, Usable
from convert.cutting.nest.search import nest

__all__ = ["Effort", "Item", "Layout", "Placed", "Rotation", "Usable", "nest"]
