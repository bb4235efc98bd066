"""What the reader returns: the visible linework and fills of one page.

*Words.* An **element** is one drawn SVG shape (a `use` makes a new one each time). Its
**subpaths** are runs of segments joined head to tail. Elements stand in paint order: a later
one lies on top.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from convert.reader.contents import NO_CONTENTS, Contents

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from convert.errors import Finding
    from convert.geometry.chain import Segments

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


class FillRule(Enum):
    """Which side of a self-overlapping outline is inside (SVG 2, 13.4.2)."""

    NONZERO = "nonzero"
    EVENODD = "evenodd"


@dataclass(frozen=True, slots=True)
class Element:
    """How one shape was drawn and where it came from.

    `id` is the element's own id, or a name made from its tag and place (`path[3]`); an instance
    made by `use` is written `use-id/shape-id`. `layers` are the names of the groups around it,
    outermost first: a group's title, else its editor's label, else its id. `fill` and `stroke`
    are `#rrggbb`, or None when nothing is painted; a gradient or pattern counts as a fill and is
    named `url(#id)`. `fill_opacity` includes every opacity above it. `stroke_width` is in mm. `title` is the
    shape's own title; that of the `use` that draws it goes before it. `blends` says whether its colours mix
    with those of what lies under it.
    """

    id: str
    tag: str
    line: int
    layers: tuple[str, ...]
    classes: tuple[str, ...]
    fill: str | None
    fill_opacity: float
    fill_rule: FillRule
    stroke: str | None
    stroke_width: float
    title: str | None = None
    blends: bool = False

    @property
    def hides(self) -> bool:
        """Whether its fill hides what lies under it."""
        return self.fill is not None and self.fill_opacity >= 1.0 and not self.blends


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A piece of text and the point (mm, y up) of its middle, as well as can be told without a font."""

    text: str
    at: tuple[float, float]
    element: str
    line: int


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """One page as a person sees it.

    *Units*: millimetres, y up, origin at the lower left of the page; `page` is (width, height).
    *Shapes*: `element_of` and `subpath_of` are (n,) for n segments: the index into `elements`, and
    a running number over the whole drawing (a subpath's segments are contiguous and head to
    tail). `closed` is one boolean per subpath. `implied` is (n,): segments that close an open
    subpath only because it is filled (the fill's own edge, never stroked).

    `unit` is the unit in which the document states its size ("mm", "in", "px" …); `sized` is
    False when it states none that means a real length, so that "as drawn" is a guess.
    `fit` is the tolerance used for curves and `fit_error` the largest error reached, in mm.
    `contents` tells what else is in the file: layers, and all that was left out.
    """

    name: str
    sha256: str
    page: tuple[float, float]
    unit: str
    sized: bool
    elements: tuple[Element, ...]
    segments: Segments
    element_of: Ints
    subpath_of: Ints
    closed: Bools
    implied: Bools
    texts: tuple[DrawnText, ...]
    fit: float
    fit_error: float
    findings: tuple[Finding, ...]
    contents: Contents = NO_CONTENTS
