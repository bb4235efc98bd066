"""Parts: everything that is cut for one template in one product, in the template's own coordinates.

*Words.* A **product** is what shapes are for: papers of the finished size, cloth shapes with the
allowance, window templates. A **part** is one shape of a product: its strokes, its outermost outline,
by which it is laid on sheets, and where words fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.cutting.sheet import Facing, Product
from convert.errors import UsageError

if TYPE_CHECKING:
    from convert.cutting.sheet import Stroke
    from convert.geometry.chain import Chain

__all__ = ["CutChoices", "Part", "Product", "usual_facing"]


@dataclass(frozen=True, slots=True)
class CutChoices:
    """What is to be cut.

    `allowance_mm` is the cloth beyond the seam line; it never scales. `grain_deg` is the direction of
    the cloth's grain in the finished block, counter-clockwise from the horizontal; None is upright.
    *Errors*: UsageError (CUT-010) when cloth or windows are asked for without an allowance.
    """

    products: tuple[Product, ...] = (Product.FINISHED,)
    allowance_mm: float = 0.0
    junction_holes: bool = False
    centre_lines: bool = False
    removal_holes: bool = False
    grain_deg: float | None = None

    def __post_init__(self) -> None:
        wider = [product.value for product in self.products if product is not Product.FINISHED]
        if wider and not self.allowance_mm > 0.0:
            what = f"{' and '.join(wider)} shapes are asked for, but no allowance"
            raise UsageError.because("CUT-010", what, "Add an allowance, such as 1/4in")


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One shape of a product; strokes and places are in the template's coordinates.

    `template` is its number in the block and `label` its letter. It is cut as it is for each of `pieces`
    (their numbers in the block), and flipped over for each of `reversed_pieces`; of a tool, which has
    neither, one is enough for any number of blocks, and it is flipped by hand. `outline` is its
    outermost cut, counter-clockwise. `at` is the widest free place for words, `clearance` its distance
    (mm) from everything cut or drawn.
    """

    product: Product
    template: int
    label: str
    pieces: tuple[int, ...]
    reversed_pieces: tuple[int, ...]
    outline: Chain
    strokes: tuple[Stroke, ...]
    at: tuple[float, float]
    clearance: float

    @property
    def is_tool(self) -> bool:
        """Whether one is enough for any number of pieces."""
        return self.product is Product.WINDOW


def usual_facing(product: Product) -> Facing:
    """Return the side a product shows: papers the wrong side of the cloth, the others its right side."""
    return Facing.BACK if product is Product.FINISHED else Facing.FRONT
