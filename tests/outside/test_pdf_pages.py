"""Booklets seen by independent readers: scale on paper, places of templates, words and margins.

*Sources*: MuPDF (pymupdf) and PDFium (pypdfium2) or Poppler draw and read the pages; none of them shares
code with the writer. 25.4 mm and 50 mm at 600 dpi are 600 and 1181.1 pixels.
"""

import itertools
import os
import shutil
import subprocess

import numpy as np
import pymupdf
import pytest
import shapely
from booklets import BOTH, drawn, fixture_booklet, made

from convert.booklet.paper import frame
from convert.booklet.wanted import Wanted
from convert.cutting.effort import Effort
from convert.cutting.sheet import Purpose

MM = 25.4 / 72.0
DPI = 600
NAMES = ("cosmos", "midwinter", "river-stones", "ring-of-seven")
KINDS = [("letter", False), ("a4", False), ("letter", True), ("a4", True)]


def opened(data):
    """Return a file as MuPDF sees it."""
    return pymupdf.open(stream=data, filetype="pdf")


def sheet_numbers(pages):
    """Return the numbers of the pages that hold templates."""
    return [number for number, page in enumerate(pages.pages) if page.sheet is not None]


def by_mupdf(data, number, box):
    """Return grey pixels of a part of a page (left, bottom, right, top, mm)."""
    page = opened(data)[number]
    height = page.rect.height * MM
    clip = pymupdf.Rect(box[0] / MM, (height - box[3]) / MM, box[2] / MM, (height - box[1]) / MM)
    pixels = page.get_pixmap(dpi=DPI, colorspace=pymupdf.csGRAY, clip=clip)
    return np.frombuffer(pixels.samples, np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]


def by_poppler(data, number, box, folder):
    """Return the same as Poppler draws it."""
    file = folder / "booklet.pdf"
    file.write_bytes(data)
    height = opened(data)[number].rect.height * MM
    per_mm = DPI / 25.4
    left, top = round(box[0] * per_mm), round((height - box[3]) * per_mm)
    wide, high = round((box[2] - box[0]) * per_mm), round((box[3] - box[1]) * per_mm)
    page = str(number + 1)
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-f", page, "-l", page, "-x", str(left), "-y", str(top)]
    done = subprocess.run([*command, "-W", str(wide), "-H", str(high), file], capture_output=True, check=True)
    _, size, _, rest = done.stdout.split(b"\n", 3)
    wide, high = map(int, size.split())
    return np.frombuffer(rest, np.uint8).reshape(high, wide)


def span(dark):
    """Return the distance between the middles of the first and the last line in a row of pixels."""
    at = np.flatnonzero(dark)
    runs = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    return runs[-1].mean() - runs[0].mean()


def large_square(page):
    """Return the lower left corner (mm, y up) of the only square of 5 cm on a page, as MuPDF finds it."""
    (rect,) = (
        path["rect"]
        for path in page.get_drawings()
        if max(abs(side * MM - 50.0) for side in (path["rect"].width, path["rect"].height)) < 0.01
    )
    return rect.x0 * MM, (page.rect.height - rect.y1) * MM


@pytest.mark.parametrize("engine", ["mupdf", "poppler"])
@pytest.mark.parametrize(
    ("paper", "safe", "effort"), [(*kind, None) for kind in KINDS] + [("letter", False, Effort.QUICK)]
)
def test_check_squares_measure_true_on_paper(engine, paper, safe, effort, tmp_path):
    """Both squares, across and up, are 600 and 1181 pixels at 600 dpi, within one pixel."""
    if engine == "poppler" and shutil.which("pdftoppm") is None:
        if os.environ.get("CI"):
            pytest.fail("CI must have Poppler's pdftoppm, the second engine")
        pytest.skip("Poppler is not there")
    _, pages, data, _ = fixture_booklet("midwinter", paper, safe=safe, effort=effort)
    number = sheet_numbers(pages)[-1]
    left, bottom = large_square(opened(data)[number])
    box = (left - 1.0, bottom - 1.0, left + 51.0, bottom + 51.0)
    drawn_ = by_mupdf(data, number, box) if engine == "mupdf" else by_poppler(data, number, box, tmp_path)
    dark = drawn_ < 128
    per_mm = DPI / 25.4
    # Through the large square beyond the small one, and through the small one beside its name.
    rows = (round(21.0 * per_mm), round((52.0 - 3.0) * per_mm))
    assert span(dark[rows[0]]) == pytest.approx(1181.1, abs=1.0)
    assert span(dark[:, round((52.0 - 3.0) * per_mm)]) == pytest.approx(1181.1, abs=1.0)
    low = dark[rows[1]]
    middle = np.flatnonzero(low[: round(40.0 * per_mm)])
    assert span(low[: middle[-1] + 1]) == pytest.approx(600.0, abs=1.0)
    left = dark[:, round(3.0 * per_mm)]
    upper = np.flatnonzero(left[round(10.0 * per_mm) :])[0] + round(10.0 * per_mm)
    assert span(left[upper:]) == pytest.approx(600.0, abs=1.0)


def cut_outlines(page):
    """Return every cut on a page as MuPDF reads it: points along it (mm, y up), curves sampled."""
    height = page.rect.height * MM
    found = []
    for path in page.get_drawings():
        if path["color"] != (0.0, 0.0, 0.0) or path["width"] is None or abs(path["width"] * MM - 0.25) > 0.01:
            continue
        points = []
        for item in path["items"]:
            if item[0] == "l":
                points += [item[1], item[2]]
            elif item[0] == "c":
                p = np.array(item[1:], float)
                t = np.linspace(0, 1, 65)[:, None]
                curve = (
                    (1 - t) ** 3 * p[0]
                    + 3 * (1 - t) ** 2 * t * p[1]
                    + 3 * (1 - t) * t**2 * p[2]
                    + t**3 * p[3]
                )
                points += [pymupdf.Point(*xy) for xy in curve]
            else:
                q = item[1].quad if item[0] == "re" else item[1]
                points += [q.ul, q.ur, q.lr, q.ll]
        found.append(np.array([(p.x * MM, height - p.y * MM) for p in points]))
    return found


def flattened(template, placement):
    """Return a template's outline as points on it, in the sheet's place, by complex arithmetic of its own."""
    points = []
    start = template.outline.points[:, 0] + 1j * template.outline.points[:, 1]
    for p, q, bulge in zip(start, np.roll(start, -1), template.outline.bulge, strict=True):
        half = 2.0 * np.arctan(bulge)
        chords = int(np.sqrt(200.0 * abs(bulge * (q - p)))) + 2  # so many stay within 0.002 mm of the arc
        t = np.linspace(0, 1, chords + 1 if bulge else 2)[:-1]
        share = np.sin(t * half) / np.sin(half) * np.exp(1j * half * (t - 1)) if bulge else t
        points.append(p + (q - p) * share)
    z = np.concatenate(points)
    z = z.conj() if placement.flipped else z
    z = z * complex(placement.a, placement.b) + complex(placement.dx, placement.dy)
    assert abs(abs(complex(placement.a, placement.b)) - 1.0) < 1e-12
    return np.column_stack((z.real, z.imag))


def farthest(points, ring):
    """Return how far the farthest of some points is from a ring."""
    line = shapely.LinearRing(ring)
    shapely.prepare(line)
    return float(shapely.distance(shapely.points(points), line).max())


@pytest.mark.parametrize(
    ("name", "effort"),
    [*((name, None) for name in NAMES), ("cosmos", Effort.QUICK), ("midwinter", Effort.QUICK)],
)
def test_templates_match_the_block(name, effort):
    """Every paper on every page, read back by MuPDF, is within 0.01 mm of its template at exact size."""
    _, pages, data, _ = fixture_booklet(name, effort=effort)
    assert effort is None or any(page.sheet is not None and page.gap == 0.0 for page in pages.pages)
    file = opened(data)
    checked = 0
    for number in sheet_numbers(pages):
        page = pages.pages[number]
        found = cut_outlines(file[number])
        outer = [s.copy for s in page.sheet.strokes if s.purpose in {Purpose.OUTER, Purpose.INNER}]
        assert len(found) == len(outer)
        for points, copy_number in zip(found, outer, strict=True):
            copy = page.sheet.copies[copy_number]
            wanted = flattened(page.block.templates[copy.template], copy.placement)
            assert farthest(points, wanted) < 0.01
            assert farthest(wanted, points) < 0.01
            checked += 1
    assert checked >= sum(len(pages.pages[n].sheet.copies) for n in sheet_numbers(pages)) > 0


@pytest.mark.parametrize(
    ("name", "paper", "safe", "effort"),
    [
        *((name, paper, safe, None) for name in NAMES for paper, safe in (KINDS[0], KINDS[3])),
        ("vanishing-square", "letter", False, None),
        ("midwinter", "letter", False, Effort.QUICK),
    ],
)
def test_words_are_large_enough_apart_and_on_the_page(name, paper, safe, effort):
    """No letter is under 7 points, no two words overlap, and nothing is nearer than 5 mm to the edge."""
    _, pages, data, _ = fixture_booklet(name, paper, safe=safe, effort=effort)
    for number, page in enumerate(opened(data)):
        inside = pymupdf.Rect(5 / MM, 5 / MM, page.rect.width - 5 / MM, page.rect.height - 5 / MM)
        lines = [
            span
            for block in page.get_text("dict")["blocks"]
            for line in block["lines"]
            for span in line["spans"]
        ]
        assert min(span["size"] for span in lines) >= 7.0 - 1e-3
        boxes = []
        for span in lines:
            x0, _, x1, _ = span["bbox"]
            base, tall = span["origin"][1], 0.729 * span["size"]
            upright = span["bbox"][3] - span["bbox"][1] > 2.0 * span["size"]
            box_ = pymupdf.Rect(span["bbox"]) if upright else pymupdf.Rect(x0, base - tall, x1, base)
            assert box_ in inside, (number, span["text"])
            boxes.append((box_, span["text"]))
        for (a, first), (b, second) in itertools.combinations(boxes, 2):
            both = a & b
            assert both.is_empty or min(both.width, both.height) < 0.2, (number, first, second)
        for path in page.get_drawings():
            assert pymupdf.Rect(path["rect"]) in inside or path["rect"].is_empty, number
    assert len(pages.pages) == number + 1


def test_a_safe_layout_is_the_same_on_both_papers():
    """Both files hold the same pages; what is on them lies in the middle 190 by 254 mm of either."""
    one, two = (fixture_booklet("midwinter", paper, safe=True) for paper in ("letter", "a4"))
    assert (one[0].frame.across, one[0].frame.up) == pytest.approx((190.0, 254.0))
    first, second = opened(one[2]), opened(two[2])
    assert len(first) == len(second)
    shift = np.array([(210.0 - 215.9) / 2, (297.0 - 279.4) / 2])
    for a, b in zip(one[1].pages, two[1].pages, strict=True):
        if a.sheet is None:
            continue
        for p, q in zip(a.sheet.copies, b.sheet.copies, strict=True):
            moved = np.array([q.placement.dx - p.placement.dx, q.placement.dy - p.placement.dy])
            assert moved == pytest.approx(shift, abs=1e-9)


@pytest.mark.parametrize(("paper", "size"), [("letter", (612.0, 792.0)), ("a4", (595.2756, 841.8898))])
def test_pages_are_of_the_paper_s_size(paper, size):
    """Letter is 612 by 792 points, A4 595.2756 by 841.8898. *Source*: ANSI Y14.1, ISO 216, ISO 32000-1."""
    for page in opened(fixture_booklet("cosmos", paper)[2]):
        assert (page.mediabox.width, page.mediabox.height) == pytest.approx(size, abs=2e-4)
    assert frame(paper).width / MM == pytest.approx(size[0], abs=1e-4)


def test_what_is_promised_is_inside():
    """From the cover, with dimensions in both units, to cautions and cloth shapes."""
    _, pages, data, _ = fixture_booklet("cosmos", cloth=True)
    file = opened(data)
    text = [page.get_text() for page in file]
    entries = [entry[1] for entry in file.get_toc()]
    for wanted in (
        "Cover", "Block dimensions", "Colouring page", "Piece key", "Cutting list", "Cloth to buy", "Skills",
        "Before you cut", "Papers, small", "Cloth shapes, small", "Papers, large",
    ):  # fmt: skip
        assert wanted in entries
    dimensions = text[1]
    for wanted in ("4 × 4 in", "10.16 × 10.16 cm", "9 × 9 in", "22.86 × 22.86 cm", "9 1/2 × 9 1/2 in"):
        assert wanted in dimensions
    assert any("razor sharp" in page for page in text)
    for number in sheet_numbers(pages):
        for wanted in ("Cosmos, sheet ", "block", "1 in", "5 cm", "150 mm", "Here: "):
            assert wanted in text[number]
        paper = pages.pages[number].sheet.product.value == "finished"
        assert ("Papers: no seam allowance" if paper else "Cloth: includes 1/4 in seam allowance") in text[
            number
        ]


def test_the_file_says_what_it_is_and_where_things_are():
    """Title, author, page labels, bookmarks, the wish to print at actual size; every font lies in the file.

    *Source*: ISO 32000-1, 12.2 (ViewerPreferences), 12.3.3 (outline), 12.4.2 (page labels), 14.3.3 (document
    information), as MuPDF reads them.
    """
    content, pages, data, _ = fixture_booklet("cosmos", cloth=True)
    file = opened(data)
    assert (file.metadata["title"], file.metadata["author"]) == ("Cosmos", "A. Example")
    wish = file.xref_get_key(file.pdf_catalog(), "ViewerPreferences/PrintScaling")
    assert wish == ("name", "/None")
    assert [page.get_label() for page in file] == [str(number) for number in range(1, len(file) + 1)]
    sections = [(level, title, number) for level, title, number in file.get_toc() if level == 1]
    assert [number for *_, number in sections] == sorted({number for *_, number in sections})
    for _, title, number in sections:
        heading = {"Cover": "Cosmos", "Skills": "Skills this block asks for"}.get(title, title)
        assert heading in file[number - 1].get_text(), title
    for number in sheet_numbers(pages):
        first = pages.pages[number].sheet.number == 1
        assert first == any(number + 1 == at for *_, at in sections)
    fonts = {font[0]: font[3] for page in file for font in page.get_fonts(full=True)}
    assert fonts
    assert all("+BitstreamVera" in name and file.extract_font(xref)[3] for xref, name in fonts.items())
    assert content.title == "Cosmos"


def test_only_what_does_not_fit_is_left_out():
    """A size whose papers are too large for the page is told, and its other pages are there all the same."""
    _, pages, data, findings = made(drawn("lattice"), {"huge": 3000.0}, Wanted(cut=BOTH))
    assert {f.code for f in findings} >= {"CUT-041"}
    assert not sheet_numbers(pages)
    assert "Cutting list" in [entry[1] for entry in opened(data).get_toc()]
