"""Filled shapes that are lines become lines; those that are pieces stay pieces; both are told."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import numpy as np
import pytest
from drawings import Shape, areas, circle, line, make_drawing, polygon, rectangle

from convert.block import Choices, Lines, make_block, usual_tolerances
from convert.block.traced import with_lines
from convert.errors import DrawingError, Severity
from convert.reader.drawing import FillRule

BLACK, GREY, RED, WHITE = "#000000", "#777777", "#cc2222", "#ffffff"


def bar(start, end, width=1.0):
    """Return the outline of a stroke with flat ends, which reach half a width too far."""
    (x, y), (u, v) = start, end
    long = hypot(u - x, v - y)
    dx, dy = (u - x) / long * width / 2, (v - y) / long * width / 2
    right = [(x - dx + dy, y - dy - dx), (u + dx + dy, v + dy - dx)]
    left = [(u + dx - dy, v + dy + dx), (x - dx - dy, y - dy + dx)]
    return polygon(*right, *left)


def ink(chain, fill=BLACK, **more):
    """Return a filled shape without a stroke."""
    return Shape(chain, None, fill, **more)


def square(side=100.0, low=20.0, width=1.0, fill=BLACK):
    """Return the four sides of a square as thin shapes."""
    high = low + side
    corners = [(low, low), (high, low), (high, high), (low, high)]
    return [ink(bar(corners[k], corners[k - 1], width), fill, id=f"side{k}") for k in range(4)]


def recovered(shapes, lines=Lines.AUTO):
    """Return the block of shapes, and the codes of what was said."""
    block = make_block(make_drawing(shapes), choices=Choices(lines=lines))
    return block, [f.code for f in block.remarks]


@pytest.mark.parametrize(("apart", "told"), [(0.9, 1), (1.6, 0)])
def test_junctions_nearer_than_the_ink_is_wide_are_told(apart, told):
    """Two stems on two sides of a bar, nearer to each other than it is wide, may have been drawn as one."""
    shapes = [*square(), ink(bar((20, 70), (120, 70)))]
    shapes += [ink(bar((70, 20), (70, 70))), ink(bar((70 + apart, 70), (70 + apart, 120)))]
    block, _ = recovered(shapes)
    warned = [f for f in block.remarks if f.code == "BLOCK-037"]
    assert [f.severity for f in warned] == [Severity.WARNING] * told
    assert [f.value for f in warned] == pytest.approx([apart] * told, abs=0.1)
    assert [f.place.at for f in warned] == [pytest.approx((70 + apart / 2, 130), abs=0.3)] * told
    assert len(block.pieces) == 4


def test_t_junction_is_straight_and_sharp():
    """The bar of a T is one straight line through the junction, and the stem ends on it."""
    shapes = [*square(), ink(bar((20, 50), (120, 50))), ink(bar((70, 50), (70, 120)))]
    block, codes = recovered(shapes)
    assert codes == ["BLOCK-022"]
    assert areas(block.map) == pytest.approx([3000, 3500, 3500], rel=1e-3)
    tee = block.map.points[np.argmin(np.hypot(*(block.map.points - (50, 30)).T))]
    assert tee == pytest.approx((50, 30), abs=0.02)
    lower = next(p for p in block.pieces if p.area < 3100)
    assert len(block.templates[lower.template].outline) == 4
    ends = [block.map.points[np.argmin(np.hypot(*(block.map.points - (x, 30)).T))] for x in (0, 100)]
    along, off = ends[1] - ends[0], tee - ends[0]
    assert abs(along[0] * off[1] - along[1] * off[0]) / hypot(*along) < 1e-6


def test_y_junction_is_one_point():
    """Three lines at 120 degrees meet in one sharp point, where their prolongations meet."""
    ends = [(70 + 40 * cos(a), 70 + 40 * sin(a)) for a in (pi / 2, pi / 2 + 2 * pi / 3, pi / 2 + 4 * pi / 3)]
    rim = [ink(bar(ends[k], ends[k - 1])) for k in range(3)]
    block, _ = recovered([*rim, *(ink(bar((70, 70), end)) for end in ends)])
    assert len(block.pieces) == 3
    assert len(block.templates) == 1
    degree = np.bincount(np.concatenate((block.map.start, block.map.end)))
    assert sorted(degree) == [3, 3, 3, 3]
    middle = block.map.points + np.array(block.origin)
    assert np.hypot(*(middle - (70, 70)).T).min() < 0.02


def test_outer_seam_is_the_middle_of_its_line():
    """The block is as large as the line's middle, not as its outer or inner rim."""
    block, _ = recovered(square(width=2.0))
    assert (block.width, block.height) == pytest.approx((100, 100), abs=0.02)
    ring, _ = recovered([ink([circle(70, 70, 51), circle(70, 70, 49)], rule=FillRule.EVENODD)])
    assert (ring.width, ring.height) == pytest.approx((100, 100), abs=0.02)
    assert len(ring.pieces) == 1
    assert len(ring.templates[0].outline) <= 3


def test_white_shapes_on_black_are_the_same_picture():
    """A dark sheet with white windows laid on it shows lines as a dark shape with holes does."""
    windows = [ink(rectangle(20.5, 20.5, 49, 99), WHITE), ink(rectangle(70.5, 20.5, 49, 99), WHITE)]
    block, codes = recovered([ink(rectangle(19.5, 19.5, 101, 101)), *windows])
    assert "BLOCK-022" in codes
    assert areas(block.map) == pytest.approx([5000, 5000], rel=1e-3)
    assert {p.fabric for p in block.pieces} == {WHITE}


def test_sheets_within_windows():
    """A dark disc with a window of its own, lying in a window of a dark sheet, shows two rings."""
    rings = [(70, BLACK), (69, WHITE), (31, BLACK), (30, WHITE)]
    block, codes = recovered([ink([circle(100, 100, radius)], fill) for radius, fill in rings])
    assert codes == ["BLOCK-022"]
    small, large = pi * 30.5**2, pi * 69.5**2
    assert areas(block.map) == pytest.approx([small, large - small], rel=1e-3)


def test_colours_under_the_lines_reach_the_seams():
    """Fills under a line drawing give the fabrics of whole pieces, up to the middle of the lines."""
    cloth = [ink(rectangle(20, 20, 50, 100), RED), ink(rectangle(70, 20, 50, 100), "#ddcc22")]
    block, _ = recovered([*cloth, *square(), ink(bar((70, 20), (70, 120)))])
    assert areas(block.map) == pytest.approx([5000, 5000], rel=1e-3)
    assert {p.fabric for p in block.pieces} == {RED, "#ddcc22"}


def test_thin_piece_between_pieces_stays_a_piece():
    """A thin dark stem among abutting pieces is clearly no line, and nothing is said."""
    shapes = [
        ink(rectangle(20, 20, 49.5, 100), RED), ink(rectangle(70.5, 20, 49.5, 100), GREY),
        ink(rectangle(69.5, 20, 1, 60)), ink(rectangle(69.5, 80, 1, 40), "#eeaa00"),
    ]  # fmt: skip
    block, codes = recovered(shapes)
    assert len(block.pieces) == 4
    assert codes == []


def test_as_drawn_leaves_everything():
    """When asked to, the drawing stays as it is, to the object."""
    drawing = make_drawing(square())
    usual = usual_tolerances(drawing)
    assert with_lines(drawing, usual, Lines.AS_DRAWN) == (drawing, (), usual)


def test_ordinary_drawings_are_not_touched():
    """Strokes, light fills, large fills and half-transparent ones are never taken for lines."""
    shapes = [
        rectangle(20, 20, 100, 100), line((20, 50), (120, 50)), ink(rectangle(30, 60, 40, 40)),
        ink(rectangle(30, 30, 60, 1), "#dddddd"), ink(rectangle(30, 40, 60, 1), opacity=0.5),
    ]  # fmt: skip
    drawing = make_drawing(shapes)
    same, findings, _ = with_lines(drawing, usual_tolerances(drawing), Lines.AUTO)
    assert same is drawing
    assert findings == ()


def test_centre_lines_asked_for_in_vain():
    """Asking for centre lines where nothing is thin is refused with advice."""
    drawing = make_drawing([rectangle(20, 20, 100, 100)])
    with pytest.raises(DrawingError) as caught:
        make_block(drawing, choices=Choices(lines=Lines.CENTRE))
    (finding,) = caught.value.findings
    assert (finding.code, finding.severity) == ("BLOCK-020", Severity.ERROR)
    assert "--lines" in finding.advice


def test_light_lines_on_request():
    """Lines of any colour are recovered when asked for, dark ones without."""
    light = square(fill="#c8c8c8")
    assert "BLOCK-022" not in recovered(light)[1]
    block, codes = recovered(light, Lines.CENTRE)
    assert "BLOCK-022" in codes
    assert areas(block.map) == pytest.approx([10000], rel=1e-3)


def test_strokes_and_outlined_strokes_together():
    """Strokes of the same colour and width among outlined ones are lines too, and meet them."""
    shapes = [*square(), Shape(line((20, 50), (120, 50)), BLACK, width=1.0)]
    block, codes = recovered(shapes)
    assert "BLOCK-022" in codes
    assert areas(block.map) == pytest.approx([3000, 7000], rel=2e-3)


def test_seams_know_their_shapes():
    """Every seam carries the id of the shape whose middle it is; the width found is told."""
    drawing = make_drawing([*square(), ink(bar((70, 20), (70, 120)), id="split")])
    result, (finding,), _ = with_lines(drawing, usual_tolerances(drawing), Lines.AUTO)
    assert finding.value == pytest.approx(1.0, abs=0.005)
    assert "5 filled shapes" in finding.what
    names = {result.elements[k].id for k in result.element_of.tolist()}
    assert names == {"side0", "side1", "side2", "side3", "split"}
    middle = (result.segments.start + result.segments.end) / 2
    (row,) = np.flatnonzero(np.hypot(*(middle - (70, 70)).T) < 1)
    assert result.elements[result.element_of[row]].id == "split"
    assert result.elements[result.element_of[row]].stroke == BLACK


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.0])
def test_turned_drawings_are_read_alike(turn):
    """However a drawing lies on the page, its pieces have the same sizes."""
    from drawings import turned

    shapes = [*square(), ink(bar((20, 50), (120, 50))), ink(bar((70, 50), (100, 120)))]
    block, _ = recovered(turned(shapes, turn, (70, 70)))
    assert sorted(p.area for p in block.pieces) == pytest.approx([2450, 3000, 4550], rel=2e-3)


def test_line_that_ends_within_a_piece_is_told():
    """An outlined stroke with a free end parts nothing; it is left out, and its end and length are named."""
    block, codes = recovered([*square(), ink(bar((20, 50), (120, 50))), ink(bar((70, 50), (70, 90)))])
    assert codes == ["BLOCK-022", "BLOCK-026"]
    assert len(block.pieces) == 2
    told = block.remarks[1]
    assert told.severity is Severity.WARNING
    assert told.value == pytest.approx(40, abs=1.5)
    assert told.place.at == pytest.approx((70, 110), abs=1.5)


def test_solid_area_is_refused():
    """A solid dark area among traced lines is an error with its place, since its seams can't be known."""
    holes = [rectangle(21, 21, 48, 98), rectangle(71, 21, 28, 98), rectangle(101, 21, 18, 40)]
    shape = ink([rectangle(20, 20, 100, 100), *holes], rule=FillRule.EVENODD)
    with pytest.raises(DrawingError) as caught:
        recovered([shape], Lines.CENTRE)
    (finding, *_) = caught.value.findings
    assert finding.code == "BLOCK-025"
    x, y = finding.place.at
    assert 100 < x < 120
    assert 80 < y < 140
    assert "--lines as-drawn" in finding.advice


def test_many_lines_in_one_point_are_not_solid():
    """Sixteen lines that meet leave a blot in the middle, which is their meeting and no area."""
    ends = [(70 + 50 * cos(k * pi / 8), 70 + 50 * sin(k * pi / 8)) for k in range(16)]
    rim = [ink(bar(ends[k], ends[k - 1], 0.5)) for k in range(16)]
    block, codes = recovered([*rim, *(ink(bar(ends[k], ends[k + 8], 0.5)) for k in range(8))])
    assert codes == ["BLOCK-022"]
    assert len(block.pieces) == 16
    assert len(block.templates) == 1


def test_seams_that_cross_are_refused():
    """Seams that would cross, as lines that meet too sharply can make them, are an error."""
    from convert.block.leftover import crossed
    from convert.geometry.chain import Segments

    drawing = make_drawing(square())
    ends = np.array([(0.0, 0), (10, 0), (10, 10), (0, 0)]), np.array([(10.0, 0), (10, 10), (0, 0), (10, 0)])
    bulge = np.array([0.0, 0, 0, -0.2])
    meeting = Segments(ends[0], ends[1], bulge)
    assert crossed(meeting, drawing, 1e-7) == []
    crossing = Segments(np.array([(0.0, 0), (5, 5)]), np.array([(10.0, 0), (5, -5)]), np.zeros(2))
    (finding,) = crossed(crossing, drawing, 1e-7)
    assert (finding.code, finding.severity) == ("BLOCK-029", Severity.ERROR)
    assert finding.place.at == pytest.approx((5, drawing.page[1]))


def test_smoothed_edges_belong_to_the_line():
    """The lighter shades that a tracer with several colours lays under a line are ink as well."""
    split = bar((70, 20), (70, 120))
    wider = [ink(bar((70, 20), (70, 120), 1.4), "#bbbbbb"), *square(width=1.4, fill="#bbbbbb")]
    block, codes = recovered([*wider, *square(), ink(split)])
    assert codes == ["BLOCK-022"]
    assert areas(block.map) == pytest.approx([5000, 5000], rel=1e-3)
    navy = [ink(bar((70, 20), (70, 120), 1.4), "#9099b8"), *square(fill="#1a2a5c"), ink(split, "#1a2a5c")]
    assert recovered(navy)[1] == ["BLOCK-022"]


def test_thick_border():
    """An outer line that is twice as thick is a line too, and its corners are sharp."""
    inner = [ink(bar((20, 50), (120, 50))), ink(bar((70, 50), (70, 120)))]
    block, codes = recovered([*square(width=2.0), *inner])
    assert codes == ["BLOCK-022"]
    assert areas(block.map) == pytest.approx([3000, 3500, 3500], rel=1e-3)
    assert len(next(t for t in block.templates if t.area < 3100).outline) == 4


def test_narrow_dark_leaf_among_lines():
    """A slender piece of its own dark colour is no line, even if bold lines are as broad."""
    tips = [(70, 50), (71.5, 70), (70, 90), (68.5, 70)]
    shapes = [*square(), ink(bar((70, 20), (70, 120))), ink(polygon(*tips), "#143d1a")]
    block, codes = recovered(shapes)
    assert codes == ["BLOCK-022", "BLOCK-015"]
    assert sorted(p.area for p in block.pieces) == pytest.approx([60, 4970, 4970], rel=2e-2)
    assert {p.fabric for p in block.pieces} == {None, "#143d1a"}


def sashing(strip, cloth=(WHITE,)):
    """Return nine squares of 40 mm with dark strips between and round them."""
    step = 40 + strip
    strips = [ink(rectangle(k * step, 0, strip, 3 * step + strip)) for k in range(4)]
    strips += [ink(rectangle(k * step + strip, j * step, 40, strip)) for k in range(3) for j in range(4)]
    return [
        *strips,
        *(
            ink(rectangle(k * step + strip, j * step + strip, 40, 40), cloth[(k + j) % len(cloth)])
            for k in range(3)
            for j in range(3)
        ),
    ]


@pytest.mark.parametrize("cloth", [(WHITE,), (RED, GREY)])
def test_sashing(cloth):
    """Dark strips between pieces are pieces from a fiftieth of the block on; either way it is said."""
    block, codes = recovered(sashing(4.0, cloth))
    assert (len(block.pieces), codes[0]) == (25, "BLOCK-021")
    assert "--lines centre" in block.remarks[0].advice
    assert len(recovered(sashing(4.0, cloth), Lines.CENTRE)[0].pieces) == 9
    block, codes = recovered(sashing(1.5, cloth))
    assert (len(block.pieces), codes) == (9, ["BLOCK-022"])
    told = block.remarks[0]
    assert told.severity is Severity.WARNING
    assert "--lines as-drawn" in told.advice
    assert "1.50 mm wide" in told.what
    assert "0.75 mm further" in told.what
    assert len(recovered(sashing(1.5, cloth), Lines.AS_DRAWN)[0].pieces) == 25


def test_broken_line_is_refused():
    """A line with a gap would make one piece of two: an error tells the place and the size of the gap."""
    parts = [ink(bar((70, 50), (70, 89.5))), ink(bar((70, 91), (70, 120)))]
    shapes = [*square(), ink(bar((20, 50), (120, 50))), *parts]
    with pytest.raises(DrawingError) as caught:
        recovered(shapes)
    (finding,) = (f for f in caught.value.findings if f.severity is Severity.ERROR)
    assert finding.code == "BLOCK-028"
    assert finding.value == pytest.approx(0.5, abs=0.15)
    assert finding.place.at == pytest.approx((70, 110), abs=1.5)


def test_dark_spots_are_told():
    """Blots within pieces part nothing; that they are left out is said."""
    blots = [ink([circle(x, 80, 0.8)]) for x in (50, 90)]
    block, codes = recovered([*square(), ink(bar((20, 50), (120, 50))), *blots])
    assert codes == ["BLOCK-022", "BLOCK-031"]
    assert len(block.pieces) == 2
    assert block.remarks[1].value == 2
