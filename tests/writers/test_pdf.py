"""The PDF writer: exact places, embedded letters, the same bytes, and what the file says about itself."""

import pymupdf
import pytest
from booklets import fixture_booklet

from convert.booklet.leaf import box
from convert.booklet.model import Anchor, Booklet, Bookmark, Page, Shape, Words
from convert.geometry.chain import Chain
from convert.writers.pdf import pdf_bytes, typeface

MM = 25.4 / 72.0


def one_page(*marks, title="A title", author="An author"):
    """Return a booklet of one page, 100 by 150 mm, opened by an independent reader."""
    page = Page(100.0, 150.0, marks, (Bookmark("The page"),))
    return pymupdf.open(stream=pdf_bytes(Booklet(title, author, "A subject", (page,))), filetype="pdf")


def test_a_rectangle_lies_where_it_should():
    """Its corners are in points from the page's lower left corner, to a thousandth of a millimetre."""
    (drawn,) = one_page(Shape((box(10.0, 20.0, 25.4, 50.0),), "#336699", 0.25))[0].get_drawings()
    rect = drawn["rect"]
    assert rect.x0 * MM == pytest.approx(10.0, abs=1e-3)
    assert rect.width * MM == pytest.approx(25.4, abs=1e-3)
    assert 150.0 - rect.y1 * MM == pytest.approx(20.0, abs=1e-3)
    assert rect.height * MM == pytest.approx(50.0, abs=1e-3)
    assert drawn["width"] * MM == pytest.approx(0.25, abs=1e-4)
    assert drawn["color"] == pytest.approx((0.2, 0.4, 0.6))
    assert drawn["fill"] is None


def test_holes_stay_free():
    """A shape with a hole is filled but for the hole, whichever way round the hole runs."""
    shape = Shape((box(0.0, 0.0, 90.0, 90.0), box(30.0, 30.0, 30.0, 30.0)), None, 0.25, "#000000")
    pixels = one_page(shape)[0].get_pixmap(dpi=72, colorspace=pymupdf.csGRAY)
    at = [pixels.pixel(int(x / MM), int((150.0 - y) / MM))[0] for x, y in ((10, 10), (45, 45), (80, 45))]
    assert at == [0, 255, 0]


def test_words_stand_at_their_anchor():
    """Left, middle and right anchors put a line's left end, middle and right end at its place."""
    marks = [Words("Moth", (50.0, 20.0 + 20.0 * i), 12.0, anchor=anchor) for i, anchor in enumerate(Anchor)]
    words = sorted(one_page(*marks)[0].get_text("words"), key=lambda w: -w[1])
    wide = typeface().width("Moth", 12.0)
    starts = [w[0] * MM for w in words]
    assert starts == pytest.approx([50.0, 50.0 - wide / 2, 50.0 - wide], abs=0.05)


def test_the_file_says_what_it_is_and_how_to_print_it():
    """Title, author, bookmark, page label; print dialogs are asked not to scale; text can be searched."""
    file = one_page(Words("Größe 3 × 4 in", (10.0, 10.0), 9.0))
    assert file.metadata["title"] == "A title"
    assert file.metadata["author"] == "An author"
    assert [entry[:3] for entry in file.get_toc()] == [[1, "The page", 1]]
    assert file[0].get_label() == "1"
    assert file.xref_get_key(file.pdf_catalog(), "ViewerPreferences/PrintScaling") == ("name", "/None")
    assert file.xref_get_key(file.pdf_catalog(), "Lang") == ("string", "en")
    assert "Größe 3 × 4 in" in file[0].get_text()


def test_all_letters_are_embedded():
    """Every font in the file is a subset that lies in the file; none is left to the reader's system."""
    file = one_page(Words("plain", (10.0, 10.0), 9.0), Words("bold", (10.0, 30.0), 9.0, bold=True))
    fonts = file[0].get_fonts(full=True)
    assert {font[3] for font in fonts} == {"AAAAAA+BitstreamVeraSans-Roman", "AAAAAA+BitstreamVeraSans-Bold"}
    assert all(file.extract_font(font[0])[3] for font in fonts)
    assert b"Helvetica" not in file.tobytes()


def test_same_pages_same_bytes():
    """Nothing of the moment gets into the file."""
    _, pages, data, _ = fixture_booklet("cosmos")
    assert pdf_bytes(pages) == data


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Größe 3 × 4", "Größe 3 × 4"),
        ("ążę łódź", "aze łódz"),
        ("\u2009½\u2044", " ½/"),
        ("蛾\n\t", "?  "),
        ("e\u0301", "é"),
    ],
)
def test_letters_that_are_missing_are_replaced(text, shown):
    """Where a letter is a variant of one that is there, that is used; else a question mark."""
    assert typeface().printable(text) == shown


def test_letters_that_are_missing_are_named():
    """Each once; variants of letters that are there, and question marks themselves, are none."""
    assert typeface().lacking("蛾 ąż? 蛾 and 夜") == "蛾夜"
    assert typeface().lacking("Größe 3 × 4?") == ""


def test_open_and_closed_chains():
    """An open chain is not closed, a closed one is."""
    open_chain = Chain([[10, 10], [20, 10], [20, 20]], [0, 0], closed=False)
    (drawn,) = one_page(Shape((open_chain,), "#000000"))[0].get_drawings()
    assert not drawn["closePath"]
    assert len(drawn["items"]) == 2
