"""Nesting: whole blocks on sheets, as many as fit."""

from convert.cutting.nest.model import Effort, Item, Layout, Placed, Rotation, Usable
from convert.cutting.nest.search import nest

__all__ = ["Effort", "Item", "Layout", "Placed", "Rotation", "Usable", "nest"]
