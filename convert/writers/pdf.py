"""Booklets as PDF, at exact scale. The only place that knows reportlab, and of that only its canvas.

Lines and Béziers are written in points; letters are Bitstream Vera, embedded as far as they are used.
Print dialogs are asked not to scale. The same booklet gives the same bytes: there are no dates in it, and
what is packed is packed by the standard library.

*Source*: ISO 32000-1, 8.5.2 (paths), 12.2 (PrintScaling), 12.3.3 (outlines), 12.4.2 (page labels).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from io import BytesIO
from math import cos, sin
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import reportlab
from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from convert.booklet.model import MM_PER_POINT, Anchor, Shape
from convert.geometry.chain import Segments
from convert.geometry.cubics import cubics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.pdfgen.pathobject import PDFPathObject

    from convert.booklet.model import Booklet, Page, Words
    from convert.geometry.chain import Chain

PLAIN, BOLD = "Vera", "Vera-Bold"
OFF_CIRCLE = 2e-5
"""How far (mm) a Bézier may leave the arc it stands for."""
INSTEAD = "?"
"""Stands for a letter that Vera lacks and that is no variant of one it has."""
_SPELT = {
    "\u2044": "/",
    "\u2032": "'",
    "\u2033": '"',
    "\u2010": "-",
    "\u2011": "-",
    "\u202f": " ",
    "\u2009": " ",
}


@lru_cache(maxsize=1)
def typeface() -> Vera:
    """Return the letters that booklets are set in."""
    return Vera()


class Vera:
    """Bitstream Vera, plain and bold, as it comes with reportlab."""

    def __init__(self) -> None:
        folder = Path(reportlab.__file__).parent / "fonts"
        for name, file in ((PLAIN, "Vera.ttf"), (BOLD, "VeraBd.ttf")):
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(folder / file)))
        known = [set(pdfmetrics.getFont(font).face.charToGlyph) for font in (PLAIN, BOLD)]
        self._letters = frozenset(filter(str.isprintable, map(chr, set.intersection(*known))))

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return how wide a line of words is, mm."""
        return float(pdfmetrics.stringWidth(text, BOLD if bold else PLAIN, size)) * MM_PER_POINT

    def printable(self, text: str) -> str:
        """Return `text` with what the letters lack replaced by what they have."""
        text = unicodedata.normalize("NFC", text)
        return text if self._letters.issuperset(text) else "".join(map(self._letter, text))

    def lacking(self, text: str) -> str:
        """Return the letters of `text` for which there is nothing but a question mark, each once."""
        letters = dict.fromkeys(unicodedata.normalize("NFC", text))
        return "".join(char for char in letters if char != INSTEAD and self._letter(char) == INSTEAD)

    def _letter(self, char: str) -> str:
        if char in self._letters:
            return char
        if char in _SPELT:
            return _SPELT[char]
        if char.isspace():
            return " "
        parts = "".join(c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c))
        return parts if parts and self._letters.issuperset(parts) else INSTEAD


def pdf_bytes(booklet: Booklet) -> bytes:
    """Return a booklet as a PDF file."""
    typeface()
    out = BytesIO()
    canvas = Canvas(out, pageCompression=1, invariant=1, pdfVersion=(1, 4), initialFontName=PLAIN, lang="en")
    canvas.setTitle(booklet.title)
    canvas.setAuthor(booklet.author)
    canvas.setSubject(booklet.subject)
    canvas.setCreator("piecewright")
    canvas.setProducer("piecewright")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.showOutline()
    for number, page in enumerate(booklet.pages):
        canvas.setPageSize((page.width / MM_PER_POINT, page.height / MM_PER_POINT))
        for mark_number, bookmark in enumerate(page.bookmarks):
            key = f"p{number}-{mark_number}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(bookmark.text, key, bookmark.level, closed=0)
        _draw(canvas, page)
        canvas.showPage()
    canvas.addPageLabel(0, style="ARABIC", start=1)
    # As text, the streams would be a quarter longer, and take as long again to write and to read back.
    as_text = rl_config.useA85
    rl_config.useA85 = 0
    try:
        canvas.save()
    finally:
        rl_config.useA85 = as_text
    return out.getvalue()


def _draw(canvas: Canvas, page: Page) -> None:
    canvas.setLineJoin(1)
    canvas.setLineCap(1)
    for mark in page.marks:
        if isinstance(mark, Shape):
            _shape(canvas, mark)
        else:
            _words(canvas, mark)


def _shape(canvas: Canvas, shape: Shape) -> None:
    path = canvas.beginPath()
    _trace(path, shape.chains)
    if shape.fill is not None:
        canvas.setFillColorRGB(*_rgb(shape.fill))
    if shape.stroke is not None:
        canvas.setStrokeColorRGB(*_rgb(shape.stroke))
        canvas.setLineWidth(shape.width / MM_PER_POINT)
        canvas.setDash([length / MM_PER_POINT for length in shape.dash])
    canvas.drawPath(path, stroke=int(shape.stroke is not None), fill=int(shape.fill is not None))


def _trace(path: PDFPathObject, chains: Sequence[Chain]) -> None:
    """Draw all chains, their arcs turned into cubics in one go."""
    tables = [chain.segments for chain in chains]
    whole = Segments(
        np.concatenate([table.start for table in tables]),
        np.concatenate([table.end for table in tables]),
        np.concatenate([table.bulge for table in tables]),
    )
    curves, row = cubics(whole, OFF_CIRCLE)
    curves = curves / MM_PER_POINT
    curved = whole.is_arc[row]
    ends = np.searchsorted(row, np.cumsum([len(table) for table in tables]))
    first = 0
    for chain, end in zip(chains, ends.tolist(), strict=True):
        points = curves[first:end].tolist()
        path.moveTo(*points[0][0])
        last = len(points) - 1
        for number, (curve, is_curve) in enumerate(zip(points, curved[first:end].tolist(), strict=True)):
            if is_curve:
                path.curveTo(*curve[1], *curve[2], *curve[3])
            elif not (chain.closed and number == last):  # closing draws the last line
                path.lineTo(*curve[3])
        if chain.closed:
            path.close()
        first = end


def _words(canvas: Canvas, words: Words) -> None:
    canvas.setFillColorRGB(*_rgb(words.colour))
    canvas.setFont(BOLD if words.bold else PLAIN, words.size)
    back = {Anchor.LEFT: 0.0, Anchor.MIDDLE: 0.5, Anchor.RIGHT: 1.0}[words.anchor]
    shift = back * typeface().width(words.text, words.size, bold=words.bold)
    x, y = (v / MM_PER_POINT for v in words.at)
    across, up = cos(words.angle_rad), sin(words.angle_rad)
    shift /= MM_PER_POINT
    if words.angle_rad == 0.0:
        canvas.drawString(x - shift, y, words.text)
        return
    text = canvas.beginText()
    text.setTextTransform(across, up, -up, across, x - shift * across, y - shift * up)
    text.textOut(words.text)
    canvas.drawText(text)


def _rgb(colour: str) -> tuple[float, float, float]:
    r, g, b = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return r, g, b
