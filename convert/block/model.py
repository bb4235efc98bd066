"""The Block: a planar map of pieces that meet edge to edge, and the templates they are cut from.

*Words.* A **vertex** is a point where seams end or bend. An **edge** is one line or arc between
two vertices; it is stored once and shared by the pieces on both sides, so both have the same
length to the last bit. Each edge e is two **half-edges**: 2e runs from its start to its end, 2e+1
back; each has one face on its left. A **face** is a region; bounded faces that belong to the
block are **pieces**. A **seam** is a longest run of edges between the same two faces.
A **template** is one shape; every piece that can be laid on it by turning is cut from it, and a
piece that fits only when the template is flipped over is **reversed**.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from convert.errors import Finding
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.similarity import Similarity

    Ints = NDArray[np.int64]

OUTSIDE = -1
"""The face number of everything that is not a piece: the outside and the holes in the block."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanarMap:
    """Topology by number, geometry in tables.

    *Shapes*: for V vertices, E edges and F faces: `points` (V, 2); `start`, `end`, `bulge` (E,);
    `next_half`, `face_of` (2E,): the half-edge that follows on the same boundary, and the face on
    the left (OUTSIDE for none). `source_start` (E+1,) and `sources` hold, edge by edge, the
    numbers of the drawn elements that made it: those of e are sources[source_start[e]:source_start[e+1]].
    *Invariants*: following `next_half` returns to its start with the same face all along; a bounded
    face has one counter-clockwise boundary and any number of clockwise ones (holes);
    no two edges meet except at vertices.
    """

    points: Floats
    start: Ints
    end: Ints
    bulge: Floats
    next_half: Ints
    face_of: Ints
    source_start: Ints
    sources: Ints

    @property
    def edge_count(self) -> int:
        """E."""
        return len(self.start)

    @property
    def face_count(self) -> int:
        """F, the bounded faces that are pieces."""
        return int(self.face_of.max(initial=OUTSIDE)) + 1


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One bounded region.

    `label` is its template's letter and a number (A1). `face` is its number in the map. `outline`
    runs counter-clockwise over the map's own vertices (every T-junction included); `holes` run
    clockwise. `placement` lays the template's outline on this piece (a turn and a shift, flipped
    first when `reversed`); `misfit` is how far the two are apart then, in mm.
    `fabric` is the fill seen at its middle (`#rrggbb`), `name` the text that lies in it and in no other
    piece, `fabric_name` the text that lies in it and in others too.
    `at` is a point well inside, `area` in mm².
    """

    label: str
    face: int
    template: int
    reversed: bool
    placement: Similarity
    misfit: float
    outline: Chain
    holes: tuple[Chain, ...]
    half_edges: tuple[int, ...]
    fabric: str | None
    name: str | None
    at: tuple[float, float]
    area: float
    fabric_name: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Template:
    """One shape to cut.

    `outline` is counter-clockwise, as its first piece lies in the block, with the vertices that
    are only a neighbour's T-junction left out and neighbouring parts of one line or circle joined.
    `count` pieces use it as it is, `reversed_count` flipped over; a shape that is its own mirror
    image (`own_mirror`) has none reversed. `corners` are the interior angles at the outline's
    vertices, radians, from the tangents (π where two segments meet smoothly). `area` is without the
    holes, `perimeter` the outline's length alone. `at` is the point
    that lies deepest inside, `clearance` its distance from the outline: the radius of the largest
    circle that fits (0 when nobody measured it).
    """

    label: str
    outline: Chain
    holes: tuple[Chain, ...]
    count: int
    reversed_count: int
    own_mirror: bool
    corners: Floats
    area: float
    perimeter: float
    at: tuple[float, float] = (0.0, 0.0)
    clearance: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """The finished patchwork unit, in mm, y up, lower left corner of its bounding box at the origin.

    `outside` is the block's own boundary: counter-clockwise outer outlines, clockwise holes.
    `own_mirror`: the block (outline and seams) equals its mirror image, so facing does not matter.
    `repairs` tell what the normaliser changed, `warnings` what a maker should know at this size;
    `remarks` are those of the warnings that hold at every size. `origin` is the place on the drawn
    page (mm, y up) of the block's lower left corner, `page_height` that page's height and `scale`
    the factor from the drawing to this size: with them findings point into the drawing.
    """

    name: str
    map: PlanarMap
    pieces: tuple[Piece, ...]
    templates: tuple[Template, ...]
    outside: tuple[Chain, ...]
    width: float
    height: float
    origin: tuple[float, float]
    own_mirror: bool
    repairs: tuple[Finding, ...]
    warnings: tuple[Finding, ...]
    remarks: tuple[Finding, ...] = ()
    page_height: float = 0.0
    scale: float = 1.0

    def on_page(self, x: float, y: float) -> tuple[float, float]:
        """Return where the block's point (x, y) lies on the drawn page: mm from its top left, y down."""
        return self.origin[0] + x / self.scale, self.page_height - self.origin[1] - y / self.scale

    def from_page(self, x: float, y: float) -> tuple[float, float]:
        """Return the point (mm at this size, y up) of a place on the drawn page, as findings name it."""
        return (x - self.origin[0]) * self.scale, (self.page_height - y - self.origin[1]) * self.scale
