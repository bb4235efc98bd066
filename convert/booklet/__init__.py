"""The printed booklet of one drawing: pages as values (`booklet`), and as a PDF file (`booklet_bytes`)."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from convert.booklet.cloth import cloth
from convert.booklet.colouring import colouring
from convert.booklet.cover import cover
from convert.booklet.cutting_list import cutting_lists
from convert.booklet.dimensions import dimensions
from convert.booklet.key import key
from convert.booklet.leaf import GREY
from convert.booklet.model import Anchor, Booklet, Words
from convert.booklet.safety import safety
from convert.booklet.skills import skills
from convert.booklet.swatches import swatches
from convert.booklet.templates import template_pages

if TYPE_CHECKING:
    from convert.booklet.content import Content
    from convert.booklet.model import Page

FOOT_SIZE = 7.5


def booklet(content: Content) -> Booklet:
    """Return all pages of a booklet."""
    pages = [
        *dimensions(content),
        colouring(content),
        *swatches(content),
        *key(content),
        *cutting_lists(content),
        *cloth(content),
        *skills(content),
        *safety(content),
        *(page for made in content.sizes for page in template_pages(content, made)),
    ]
    inside = [
        (bookmark.text, number)
        for number, page in enumerate(pages, start=2)
        for bookmark in page.bookmarks
        if bookmark.level == 0
    ]
    pages = [cover(content, inside), *pages]
    numbered = tuple(_with_foot(content, page, number) for number, page in enumerate(pages, start=1))
    title = content.title
    sizes = ", ".join(made.name for made in content.sizes)
    return Booklet(title, content.author, f"Block for English paper piecing, sizes: {sizes}", numbered)


def booklet_bytes(content: Content) -> bytes:
    """Return a booklet as a PDF file.

    *Errors*: OutputError when a shape is wider than the cloth or a place on a page is not finite.
    """
    from convert.writers.pdf import pdf_bytes

    return pdf_bytes(booklet(content))


def _with_foot(content: Content, page: Page, number: int) -> Page:
    frame = content.frame
    # On a page of templates the number stands below what is used.
    y = frame.bottom + (1.0 if page.sheet is None else 0.5 - frame.beyond)
    right = Words(str(number), (frame.right, y), FOOT_SIZE, colour=GREY, anchor=Anchor.RIGHT)
    return replace(page, marks=(*page.marks, right))
