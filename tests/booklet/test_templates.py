"""Template pages: what they say of how far they go, and where the check squares lie among the papers."""

from collections import Counter
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from booklets import drawn, fixture_booklet, made

from convert.block import make_block
from convert.booklet.model import Words
from convert.booklet.templates import Share, share
from convert.booklet.wanted import Wanted
from convert.cutting.effort import Effort
from convert.cutting.sheet import Purpose
from convert.geometry.edit import flatten
from convert.reader import read_drawing_bytes


def sheet_with(**copies):
    """Return a sheet with so many copies of some templates; `Ar` are reversed ones of A."""
    names = [(ord(name[0]) - ord("A"), name.endswith("r")) for name, n in copies.items() for _ in range(n)]
    return SimpleNamespace(copies=[SimpleNamespace(template=t, reversed=r) for t, r in names])


def block_of(**counts):
    """Return a block that needs so many of each template, as they are and reversed."""
    templates = [
        SimpleNamespace(label=label, count=count, reversed_count=counts.get(f"{label}r", 0))
        for label, count in counts.items()
        if len(label) == 1
    ]
    return SimpleNamespace(templates=templates)


@pytest.mark.parametrize(
    ("block", "sheets", "words"),
    [
        # 20 petals and 3 centres, 6 and 1 a block: the least is 3 (a worked example in the trade).
        (block_of(A=6, B=1), [sheet_with(A=20, B=3)], "One sheet makes 3 blocks, 2 A spare"),
        (block_of(A=6, B=1), [sheet_with(A=6, B=1)], "One sheet makes 1 block"),
        (block_of(A=4, Ar=4), [sheet_with(A=4), sheet_with(Ar=4)], "One block needs 2 sheets"),
        (
            block_of(A=4, Ar=4),
            [sheet_with(A=8, Ar=4), sheet_with(Ar=7)],
            "2 sheets together make 2 blocks, 3 A reversed spare",
        ),
    ],
)
def test_yield_is_the_least_of_all_templates(block, sheets, words):
    """Copies there by copies in a block, rounded down; what is left over is said."""
    assert share(block, sheets).words == words


def test_what_is_left_over_is_named():
    """By label and number, several with commas."""
    assert Share(2, 1, (("A", 1), ("C reversed", 3))).words == (
        "One sheet makes 2 blocks, 1 A, 3 C reversed spare"
    )


def said(page):
    """Return all words on a page."""
    return [mark.text for mark in page.marks if isinstance(mark, Words)]


def templates_of(pages):
    """Return the pages with templates."""
    return [page for page in pages.pages if page.sheet is not None]


def check_square(page):
    """Return the 5 cm square of a page."""
    (square,) = (
        shapely.Polygon(mark.chains[0].points)
        for mark in page.marks
        if not isinstance(mark, Words) and np.allclose(np.ptp(mark.chains[0].points, axis=0), 50.0)
    )
    return square


def test_how_often_to_print_is_said_for_several_blocks():
    """Sheets that make 5 blocks are printed 3 times for 12, two sheets a block 12 times each."""
    wanted = Wanted(effort=Effort.QUICK, blocks=12)
    _, pages, _, _ = made(drawn("midwinter"), {"small": 101.6}, wanted)
    (page,) = templates_of(pages)
    assert "One sheet makes 5 blocks: print it 3 times for 12" in said(page)
    _, pages, _, _ = made(drawn("midwinter"), {"large": 228.6}, Wanted(blocks=12))
    for page in templates_of(pages):
        assert "One block needs 2 sheets: print each 12 times for 12" in said(page)


def test_papers_laid_close_make_more_blocks_and_say_that_they_share_lines():
    """Midwinter at 4 in: in rows a sheet makes fewer blocks than with an effort; counts are whole blocks."""
    _, in_rows, _, _ = fixture_booklet("midwinter")
    _, close, _, _ = fixture_booklet("midwinter", effort=Effort.QUICK)
    rows = next(page for page in templates_of(in_rows) if page.size == "small")
    (page,) = templates_of(close)
    assert page.sheet.blocks > rows.sheet.blocks
    found = Counter((copy.template, copy.reversed) for copy in page.sheet.copies)
    for number, template in enumerate(page.block.templates):
        assert found[number, False] == template.count * page.sheet.blocks
    assert page.gap == 0.0
    assert any("Cut once along shared lines" in text for text in said(page))
    assert not any("shared lines" in text for text in said(rows))
    safety = next(p for p in close.pages if any("Before you cut" in text for text in said(p)[:1]))
    assert "one cut makes both edges" in " ".join(said(safety))


@pytest.mark.parametrize("effort", [None, Effort.QUICK])
@pytest.mark.parametrize(("paper", "safe"), [("letter", False), ("a4", True)])
def test_papers_lie_inside_the_page_and_off_the_squares(paper, safe, effort):
    """Within the frame, 1.9 mm or more from the 5 cm square, none over another; no words are cut off."""
    content, pages, _, _ = fixture_booklet("midwinter", paper, safe=safe, effort=effort)
    frame = content.frame
    for page in templates_of(pages):
        assert not any(text.endswith("…") for text in said(page))
        shapes = [
            shapely.Polygon(flatten(s.chain, 0.005)) for s in page.sheet.strokes if s.purpose is Purpose.OUTER
        ]
        left, low, right, high = shapely.total_bounds(np.array(shapes))
        assert left >= frame.left - 1e-3
        assert low >= frame.bottom - 1e-3
        assert right <= frame.right + 1e-3
        assert high <= frame.top + 1e-3
        assert shapely.distance(check_square(page), np.array(shapes)).min() >= 1.9
        tree = shapely.STRtree(shapes)
        for i, j in tree.query(shapes, predicate="intersects").T:
            assert i == j or shapes[i].intersection(shapes[j]).area < 0.05


@pytest.mark.parametrize(("side", "number"), [(39.0, 5), (38.0, 5), (64.0, 3)])
def test_rows_as_close_as_a_nest_keep_off_the_squares(side, number):
    """Squares that go on a Letter page edge to edge only, in rows as in a nest, lie off the check square."""
    whole = side * number
    squares = "".join(
        f'<path d="M{x * side} {y * side}h{side}v{side}h-{side}z"/>'
        for x in range(number)
        for y in range(number)
    )
    size = f'width="{whole}mm" height="{whole}mm" viewBox="0 0 {whole} {whole}"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{squares}</svg>'
    block = make_block(read_drawing_bytes(svg.encode(), "squares.svg"))
    _, pages, _, _ = made(block, {"whole": whole}, Wanted(effort=Effort.QUICK))
    (page,) = templates_of(pages)
    shapes = [shapely.Polygon(s.chain.points) for s in page.sheet.strokes if s.purpose is Purpose.OUTER]
    assert len(shapes) == number * number
    assert shapely.distance(check_square(page), np.array(shapes)).min() >= 1.9
