"""How light a colour is, and which count as white."""

from __future__ import annotations

WHITE = 0.93
"""Relative luminance from which a colour counts as white, the page's own colour: `#f8f8f8` is white."""


def luminance(colour: str) -> float:
    """Return the relative luminance of `#rrggbb`, 0 to 1. *Source*: WCAG 2.2, "relative luminance"."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
