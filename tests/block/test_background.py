"""Paper under a drawing is no piece, cloth under pieces is; what counts as paper is told."""

from __future__ import annotations

import pytest
from drawings import Shape, areas, circle, line, make_drawing, rectangle

from convert.block import Choices, Unfilled, make_block
from convert.errors import DrawingError, Severity

RED, WHITE = "#cc2222", "#ffffff"


def filled(chain, fill=RED, stroke=None, **more):
    """Return a filled shape."""
    return Shape(chain, stroke, fill, **more)


def made(shapes, **choices):
    """Return the areas of a block's pieces and the codes of its remarks."""
    block = make_block(make_drawing(shapes), choices=Choices(**choices))
    return areas(block.map), [f.code for f in block.remarks]


SHEET = filled(rectangle(0, 0, 200, 200), WHITE, id="paper")
PIECES = [filled(rectangle(50, 50, 50, 100)), filled(rectangle(100, 50, 50, 100), "#2222cc")]


def test_white_sheet_is_paper():
    """A white sheet that reaches beyond everything is left out, and a warning says how to keep it."""
    block = make_block(make_drawing([SHEET, *PIECES]))
    assert areas(block.map) == pytest.approx([5000, 5000])
    (finding,) = [f for f in block.remarks if f.code == "BLOCK-030"]
    assert finding.severity is Severity.WARNING
    assert finding.place.element == "paper"
    assert "--keep-background" in finding.advice


def test_sheet_can_be_kept():
    """With keep_background the sheet is a piece round the others, and nothing is said."""
    sizes, codes = made([SHEET, *PIECES], keep_background=True)
    assert sizes == pytest.approx([5000, 5000, 30000])
    assert "BLOCK-030" not in codes


@pytest.mark.parametrize(
    "sheet",
    [
        filled(rectangle(0, 0, 200, 200), "#fafafa", "#f0f0f0"),
        filled(rectangle(0, 0, 200, 200), WHITE, opacity=0.5),
        filled(circle(100, 100, 99), WHITE),
    ],
)
def test_kinds_of_paper(sheet):
    """Nearly white sheets, faintly outlined, half transparent or round ones are paper too."""
    assert made([sheet, *PIECES])[0] == pytest.approx([5000, 5000])


def test_sheets_on_sheets():
    """A page and a smaller sheet on it are both paper."""
    sizes, codes = made([SHEET, filled(rectangle(20, 20, 160, 160), WHITE), *PIECES])
    assert sizes == pytest.approx([5000, 5000])
    assert codes.count("BLOCK-030") == 2


@pytest.mark.parametrize(
    "ground",
    [
        filled(rectangle(50, 40, 100, 120), WHITE),  # pieces touch its sides
        filled(rectangle(0, 0, 200, 200), "#ffeecc"),  # coloured
        filled(rectangle(0, 0, 200, 200), WHITE, "#000000"),  # outlined
    ],
)
def test_cloth_stays(ground):
    """White ground that pieces touch, coloured ground and outlined ground are pieces."""
    sizes, codes = made([ground, *PIECES])
    assert len(sizes) >= 3
    assert "BLOCK-030" not in codes


FLOWER = [filled(circle(x, y, 18), "#dd4444") for x, y in ((100, 68), (132, 100), (100, 132), (68, 100))]


def test_ground_of_an_applique():
    """White between the parts of a flower is cloth on a smaller square, but paper on the page's own sheet."""
    ground = filled(rectangle(40, 40, 120, 120), WHITE, id="ground")
    sizes, codes = made([ground, *FLOWER])
    assert len(sizes) == 5
    assert "BLOCK-034" in codes
    sizes, codes = made([SHEET, ground, *FLOWER])
    assert len(sizes) == 5
    assert codes[0] == "BLOCK-030"
    assert "BLOCK-034" in codes
    assert len(made([SHEET, *FLOWER])[0]) == 4
    lines = [rectangle(70, 70, 60, 60), line((70, 100), (130, 100))]
    assert made([ground, *lines])[0] == pytest.approx([1800, 1800])


@pytest.mark.parametrize(
    "sheet",
    [filled(rectangle(0, 0, 200, 200), "#f5f5dc"), filled(rectangle(2, 2, 196, 196), WHITE, "#000000")],
)
def test_what_could_be_paper_is_told(sheet):
    """A page that is not quite white, or outlined, is a piece; that it lies under all is pointed out."""
    sizes, codes = made([sheet, *PIECES])
    assert len(sizes) == 3
    assert "BLOCK-034" in codes


def test_lonely_sheet_is_a_piece():
    """A white shape with nothing on it is no paper; nor is one that lies on top."""
    assert made([filled(rectangle(20, 20, 60, 60), WHITE)])[0] == pytest.approx([3600])
    assert made([*PIECES, filled(rectangle(40, 40, 120, 120), WHITE)])[0] == pytest.approx([14400])


def test_gaps_in_what_lies_on_paper_are_holes():
    """Where paper shows between pieces there is no piece."""
    frame = [
        filled(rectangle(50, 50, 100, 20)), filled(rectangle(50, 130, 100, 20)),
        filled(rectangle(50, 70, 20, 60)), filled(rectangle(130, 70, 20, 60)),
    ]  # fmt: skip
    sizes, codes = made([SHEET, *frame])
    assert sizes == pytest.approx([1200, 1200, 2000, 2000])
    assert "BLOCK-014" in codes


def test_faces_without_fill_are_the_makers_choice():
    """Bare faces are holes or pieces by whether a line outlines them, or all alike when asked."""
    frame = [
        filled(rectangle(50, 50, 100, 20)), filled(rectangle(50, 130, 100, 20)),
        filled(rectangle(50, 70, 20, 60)), filled(rectangle(130, 70, 20, 60)),
    ]  # fmt: skip
    lined = [*frame, rectangle(70, 70, 60, 60)]
    assert len(made(frame)[0]) == 4
    assert len(made(frame, unfilled=Unfilled.PIECE)[0]) == 5
    sizes, codes = made(lined)
    assert len(sizes) == 5
    assert "BLOCK-015" in codes
    sizes, codes = made(lined, unfilled=Unfilled.HOLE)
    assert len(sizes) == 4
    assert "BLOCK-014" in codes


def test_errors_come_first():
    """When a drawing is refused, its errors are listed before warnings and notes."""
    shapes = [
        SHEET, rectangle(50, 50, 100, 100), line((50, 100), (149, 100)), line((60, 120), (62, 121)),
    ]  # fmt: skip
    with pytest.raises(DrawingError) as caught:
        make_block(make_drawing(shapes, [("lost", 5, 5)]))
    severities = [f.severity for f in caught.value.findings]
    order = [Severity.ERROR, Severity.WARNING, Severity.NOTE]
    assert severities == sorted(severities, key=order.index)
    assert set(severities) == set(order)
