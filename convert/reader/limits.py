"""All that limits where an element is seen: its clip path, its mask, and a filter that leaves nothing of it.

*Source*: CSS Masking 1, Filter Effects 1 (an empty filter draws nothing).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.reader.masks import mask_regions
from convert.reader.regions import Region, clip_regions

if TYPE_CHECKING:
    from convert.reader.document import Reading
    from convert.reader.node import Node
    from convert.reader.regions import Surroundings


def regions_of(node: Node, at: Surroundings, reading: Reading) -> tuple[Region, ...]:
    """Return all regions outside which an element isn't seen; NOTHING among them when it isn't at all."""
    found: list[Region] = []
    values = at.style.values
    if values["clip-path"].text != "none":
        found.extend(clip_regions(node, at, reading))
    if values["mask"].text != "none":
        found.extend(mask_regions(node, at, reading))
    if values["filter"].text != "none":
        target = reading.target(values["filter"].target, "filter")
        if target is not None and not target.children:
            found.append(Region("an empty filter", ()))
        elif target is not None or values["filter"].target is None:
            reading.remarks.note("READ-037", "a filter (such as a shadow or blur) was left out", node)
    return tuple(found)
