"""Booklets for tests: of a fixture at some sizes, or of a block."""

from functools import cache
from pathlib import Path

from convert.block import make_block
from convert.block.scale import scaled
from convert.booklet import booklet
from convert.booklet.prepare import Wanted, prepare
from convert.cutting.parts import CutChoices
from convert.cutting.sheet import Product
from convert.reader import read_drawing
from convert.writers.pdf import pdf_bytes, typeface

FIXTURES = Path(__file__).parents[2] / "fixtures"
CAUTIONS = (("Blades", "Blades are razor sharp."),)
BOTH = CutChoices(products=(Product.FINISHED, Product.CLOTH), allowance_mm=6.35)


@cache
def drawn(name):
    """Return a fixture's block."""
    return make_block(read_drawing(FIXTURES / f"{name}.svg"))


def made(block, widths, wanted):
    """Return content, pages, file and findings of a booklet of a block at some widths (mm)."""
    sizes = [(name, scaled(block, width / block.width)) for name, width in widths.items()]
    content, findings = prepare(block, sizes, wanted, CAUTIONS, typeface())
    pages = booklet(content)
    return content, pages, pdf_bytes(pages), findings


@cache
def fixture_booklet(name, paper="letter", *, safe=False, cloth=False):
    """Return the booklet of a fixture at 4, 6 and 9 inches: content, pages, file and findings."""
    wanted = Wanted(paper=paper, safe=safe, author="A. Example", cut=BOTH if cloth else CutChoices())
    return made(drawn(name), {"small": 101.6, "medium": 152.4, "large": 228.6}, wanted)
