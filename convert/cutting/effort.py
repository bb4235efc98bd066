"""How hard to look for a close layout."""

from __future__ import annotations

from enum import Enum


class Effort(Enum):
    """How hard to look: spent in units of the engine's work, so that results don't depend on the clock."""

    QUICK = "quick"
    NORMAL = "normal"
    BEST = "best"
