"""Booklets for tests: of a fixture at some sizes, or of a block."""

from functools import cache
from pathlib import Path

from convert.block import make_block
from convert.block.scale import scaled
from convert.booklet import booklet
from convert.booklet.prepare import prepare
from convert.booklet.wanted import Wanted
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
def fixture_booklet(name, paper="letter", *, safe=False, cloth=False, effort=None):
    """Return the booklet of a fixture at 4, 6 and 9 inches (with an effort, at 4), as `made` does."""
    cut = BOTH if cloth else CutChoices()
    wanted = Wanted(paper=paper, safe=safe, author="A. Example", cut=cut, effort=effort)
    sizes = {"small": 101.6, "medium": 152.4, "large": 228.6}
    return made(drawn(name), {"small": 101.6} if effort else sizes, wanted)
