"""What is in force for one drawing: wishes where there are any, defaults where nobody wishes.

The command line's wishes come before those in the file beside the drawing, wish by wish.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any, Final

from convert.block.choices import Choices, Lines, Unfilled
from convert.colourways import NO_PALETTE, Palette
from convert.cutting.common import refuse_shared_tools
from convert.cutting.marks import MarkChoices
from convert.cutting.parts import CutChoices, usual_facing
from convert.cutting.sheet import Arrangement, Facing, Product
from convert.errors import UsageError
from convert.profile import Profile, load_profile
from convert.units import MM_PER_INCH
from convert.wishes import PAPERS, WITHOUT, Wishes, job_file, read_wishes

if TYPE_CHECKING:
    from pathlib import Path

    from convert.cutting.effort import Effort
    from convert.wishes import Size

USUAL_FORMATS: Final = ("svg", "dxf")
DEFAULT_PROFILE: Final = "letter-card"
USUAL_CLOTH_WIDTH: Final = 42.0 * MM_PER_INCH
"""What is usable of cloth sold as 44 to 45 in wide (common practice)."""

_NAMES: Final = {Product.FINISHED: "pieces", Product.CLOTH: "cloth", Product.WINDOW: "window"}


class Measure(Enum):
    """Which of the block's lengths a size states."""

    WIDTH = "width"
    HEIGHT = "height"
    EDGE = "edge"


@dataclass(frozen=True, slots=True)
class Job:
    """Everything in force for one drawing.

    `sizes` is empty when the drawing is to be made as drawn. With EDGE, `edge_of` is the label of
    the template whose longest straight edge is measured; None means that of the whole block.
    Pieces are papers for the back of the cloth and shown from there; an assembled block is its front;
    a wish for `facing` means all of them. Without `effort` pieces lie in plain rows. `blocks` is None where
    a sheet is to be filled with as many blocks as it can make. `one_unit` and `gap`
    are in mm, None when the drawing itself tells. The rest is for the booklet: its title (the drawing's name
    if empty) and author, the papers it is printed on, and the usable width of the cloth, mm; the palette is
    for the colourways too. `idle` are options that were given and that nothing asked for has a use for.
    """

    sizes: tuple[Size, ...]
    measure: Measure
    edge_of: str | None
    profile: Profile
    formats: tuple[str, ...]
    arrangements: tuple[Arrangement, ...]
    facing: Facing | None
    blocks: int | None
    effort: Effort | None
    choices: Choices
    only: tuple[str, ...]
    skip: tuple[str, ...]
    one_unit: float | None
    gap: float | None
    cut: CutChoices
    marks: MarkChoices
    title: str
    author: str
    papers: tuple[str, ...]
    cloth_width: float
    palette: Palette
    idle: tuple[str, ...] = ()

    @property
    def sheet_formats(self) -> tuple[str, ...]:
        """Return the formats of which every sheet is a file."""
        return tuple(kind for kind in self.formats if kind in USUAL_FORMATS)

    @property
    def assembled_facing(self) -> Facing:
        """Return the side from which the whole block is shown."""
        return self.facing or Facing.FRONT

    def product_facing(self, product: Product) -> Facing:
        """Return the side from which the shapes of a product are shown."""
        return self.facing or usual_facing(product)

    def options(self) -> dict[str, Any]:
        """Return everything in force as plain values, lengths in mm, for the manifest."""
        return {
            "sizes": {size.name: size.length for size in self.sizes},
            "measure": self.measure.value + (f":{self.edge_of}" if self.edge_of else ""),
            "profile": self.profile.name,
            "formats": list(self.formats),
            "arrange": [arrangement.value for arrangement in self.arrangements],
            "facing": {
                **{_NAMES[product]: self.product_facing(product).value for product in self.cut.products},
                "assembled": self.assembled_facing.value,
            },
            "blocks": self.blocks,
            "effort": self.effort.value if self.effort else None,
            "lines": self.choices.lines.value,
            "unfilled": self.choices.unfilled.value,
            "keep_background": self.choices.keep_background,
            "only": list(self.only),
            "skip": list(self.skip),
            "one_unit": self.one_unit,
            "gap": self.gap,
            "cut": [product.value for product in self.cut.products],
            "allowance": self.cut.allowance_mm,
            "junction_holes": self.cut.junction_holes,
            "centre_lines": self.cut.centre_lines,
            "removal_holes": self.cut.removal_holes,
            "grain": self.cut.grain_deg,
            "without": [
                word for word, wanted in zip(WITHOUT, self._marks_wanted(), strict=True) if not wanted
            ],
            "title": self.title,
            "author": self.author,
            "papers": list(self.papers),
            "cloth_width": self.cloth_width,
        }

    def _marks_wanted(self) -> tuple[bool, bool, bool]:
        """Return for each word of WITHOUT whether its marks are wanted."""
        return self.marks.balance, self.marks.junctions, self.marks.seam_numbers


def make_job(wishes: Wishes) -> Job:
    """Return the job that `wishes` ask for, with defaults where they ask nothing.

    *Errors*: UsageError when they contradict each other; ProfileError when the profile is unsound.
    """
    sizes = wishes.sizes or ()
    if wishes.measure is not None and not sizes:
        what = "a measure is asked for, but no size to measure"
        raise UsageError.because("JOB-012", what, "Add --size NAME=LENGTH, or leave --measure out")
    measure, _, template = (wishes.measure or "width").partition(":")
    cut = _choices(wishes)
    if wishes.arrange and Arrangement.ASSEMBLED in wishes.arrange:
        refuse_shared_tools(cut.products)
    papers = Product.FINISHED in cut.products
    without = wishes.without or ()
    return Job(
        sizes=sizes,
        measure=Measure(measure),
        edge_of=template.upper() or None,
        profile=wishes.profile or load_profile(DEFAULT_PROFILE),
        formats=wishes.formats or USUAL_FORMATS,
        arrangements=wishes.arrange or (tuple(Arrangement) if papers else (Arrangement.PIECES,)),
        facing=wishes.facing,
        # Who asks for close layouts wants to know what a sheet can make: it is filled.
        blocks=wishes.blocks or (None if wishes.effort else 1),
        effort=wishes.effort,
        choices=Choices(
            wishes.lines or Lines.AUTO, wishes.unfilled or Unfilled.AUTO, bool(wishes.keep_background)
        ),
        only=wishes.only or (),
        skip=wishes.skip or (),
        one_unit=wishes.one_unit,
        gap=wishes.gap,
        cut=cut,
        marks=MarkChoices(*(word not in without for word in WITHOUT)),
        title=wishes.title or "",
        author=wishes.author or "",
        papers=PAPERS[:2] if wishes.paper == "both" else (wishes.paper or PAPERS[0],),
        cloth_width=wishes.cloth_width or USUAL_CLOTH_WIDTH,
        palette=wishes.palette or NO_PALETTE,
        idle=_idle(wishes),
    )


def _idle(wishes: Wishes) -> tuple[str, ...]:
    """Return the options that are for a booklet, where none is asked for; pictures have the title, too."""
    if "pdf" in (wishes.formats or ()):
        return ()
    given = {
        "--title": wishes.title is not None and not wishes.palette,
        "--author": wishes.author is not None,
        "--paper": wishes.paper is not None,
        "--cloth-width": wishes.cloth_width is not None,
    }
    return tuple(option for option, is_given in given.items() if is_given)


def _choices(wishes: Wishes) -> CutChoices:
    """Return what is to be cut.

    *Errors*: UsageError when a wish has nothing to apply to.
    """
    products = wishes.cut or (Product.FINISHED,)
    booklet = "pdf" in (wishes.formats or ())
    for option, wanted, product in (
        ("an allowance", wishes.allowance is not None, None),
        ("junction holes", wishes.junction_holes, Product.WINDOW),
        ("centre lines", wishes.centre_lines, Product.WINDOW),
        ("removal holes", wishes.removal_holes, Product.FINISHED),
        ("a grain direction", wishes.grain is not None, Product.CLOTH),
    ):
        used = product in products if product else set(products) != {Product.FINISHED}
        # A booklet tells how much cloth to buy, whatever is cut.
        used |= booklet and product in {None, Product.CLOTH}
        if wanted and not used:
            add = f"--cut {product.value}" if product else "--cut cloth, --cut window or --cut all"
            what = f"{option} {'is' if option.startswith('a') else 'are'} asked for, but nothing that has "
            what += "it" if option.startswith("a") else "them"
            raise UsageError.because("JOB-015", what, f"Add {add}, or leave it out")
    return CutChoices(
        products=products,
        allowance_mm=wishes.allowance or 0.0,
        junction_holes=bool(wishes.junction_holes),
        centre_lines=bool(wishes.centre_lines),
        removal_holes=bool(wishes.removal_holes),
        grain_deg=wishes.grain,
    )


def job_for(drawing: Path, wishes: Wishes) -> Job:
    """Return the job for one drawing: `wishes`, then those in the file beside it, then defaults.

    *Errors*: UsageError and ProfileError, as for make_job and read_wishes.
    """
    beside = job_file(drawing)
    return make_job(wishes.before(read_wishes(beside)) if beside else wishes)
