"""Parts of each product, and their sheets: what is cut, how often, facing where, with what words."""

from collections import Counter
from dataclasses import replace
from math import cos, degrees, pi, radians, sin, sqrt

import numpy as np
import pytest
import shapely
from hand_blocks import ALL, compass_flower, hand_block, kite_pair, pinwheel, shifted_grid
from hand_profiles import mat
from parallel_oracle import flat

from convert.block.scale import scaled
from convert.cutting.extras import ARROW_MM, REMOVAL_MM, REMOVAL_RIM_MM
from convert.cutting.parts import CutChoices
from convert.cutting.products import make_parts
from convert.cutting.rows import piece_sheets, sheet_yield
from convert.cutting.sheet import Facing, Product, Purpose
from convert.errors import OutputError, UsageError
from convert.geometry import measure
from convert.geometry.chain import Chain

QUARTER = 6.35
EVERYTHING = CutChoices(tuple(Product), QUARTER, junction_holes=True, centre_lines=True, removal_holes=True)


def _of(sheets, purpose):
    return [s for sheet in sheets for s in sheet.strokes if s.purpose is purpose]


def hexagons(side=25.4):
    """Make a ring of six hexagons round one: all one template."""
    points, outlines, index = [], [], {}
    for a, b in ((0, 0), (1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)):
        x, y = side * 1.5 * a, side * sqrt(3) * (b + a / 2)
        outline = []
        for k in range(6):
            at = (x + side * cos(pi * k / 3), y + side * sin(pi * k / 3))
            key = (round(at[0], 6), round(at[1], 6))
            if key not in index:
                index[key] = len(points)
                points.append(at)
            outline.append((index[key], 0.0))
        outlines.append(outline)
    return hand_block("hexagons", points, outlines, own_mirror=True)


def diamond(angle=45.0, side=50.0):
    """Make a single rhombus, standing on an acute point."""
    x, y = side * sin(radians(angle / 2)), side * cos(radians(angle / 2))
    return hand_block(
        "diamond", [(0, -y), (x, 0), (0, y), (-x, 0)], [[(0, 0), (1, 0), (2, 0), (3, 0)]], own_mirror=True
    )


def test_cloth_and_windows_need_an_allowance():
    """Asking for cloth or windows without an allowance is an error that says what to add."""
    for product in (Product.CLOTH, Product.WINDOW):
        with pytest.raises(UsageError) as caught:
            CutChoices((Product.FINISHED, product))
        (finding,) = caught.value.findings
        assert finding.code == "CUT-010"
        assert product.value in finding.what
        assert "1/4in" in finding.advice
    assert CutChoices().products == (Product.FINISHED,)


@pytest.mark.parametrize("product", Product)
@pytest.mark.parametrize("make", ALL)
def test_counts(make, product):
    """Papers and cloth are cut once for every piece of every block, a window template once in all."""
    block = make()
    sheets = piece_sheets(block, mat(), blocks=3, product=product, choices=EVERYTHING)
    found = Counter((c.template, c.reversed) for sheet in sheets for c in sheet.copies)
    pieces = Counter(c.piece for sheet in sheets for c in sheet.copies)
    if product is Product.WINDOW:
        assert found == {(number, False): 1 for number in range(len(block.templates))}
        assert set(pieces) == {-1}
        return
    assert pieces == dict.fromkeys(range(len(block.pieces)), 3)
    for sheet in sheets:
        for copy in sheet.copies:
            piece = block.pieces[copy.piece]
            assert (piece.template, piece.reversed) == (copy.template, copy.reversed)


@pytest.mark.parametrize("product", Product)
@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("gap", [0.5, 3.0])
def test_outermost_outlines_keep_the_gap_and_the_margins(make, product, gap):
    """No two rings overlap or come nearer than the gap, and all that is drawn or cut is on the sheet."""
    profile = mat(gap=gap)
    for sheet in piece_sheets(make(), profile, product=product, choices=EVERYTHING):
        shapes = [shapely.Polygon(flat(s.chain, 1e-3)) for s in sheet.strokes if s.purpose is Purpose.OUTER]
        for i, shape in enumerate(shapes[:-1]):
            assert shapely.distance(shape, shapes[i + 1 :]).min() >= gap - 2e-3
        drawn = np.array([measure.box(s.chain) for s in sheet.strokes if s.purpose is not Purpose.CHECK])
        margins = profile.margins
        assert drawn[:, 0].min() >= margins.left - 1e-9
        assert drawn[:, 1].min() >= margins.bottom - 1e-9
        assert drawn[:, 2].max() <= profile.width - margins.right + 1e-9
        assert drawn[:, 3].max() <= profile.height - margins.top + 1e-9


@pytest.mark.parametrize("make", ALL)
def test_a_window_is_its_ring_with_the_finished_outline_cut_out(make):
    """A window's opening is the template's outline to the last bit, its outside the cloth's outline."""
    block = make()
    choices = CutChoices((Product.CLOTH, Product.WINDOW), QUARTER)
    cloth = {part.template: part for part in make_parts(block, Product.CLOTH, choices).parts}
    for part in make_parts(block, Product.WINDOW, choices).parts:
        template = block.templates[part.template]
        inner, outer = part.strokes
        assert (inner.purpose, outer.purpose) == (Purpose.INNER, Purpose.OUTER)
        assert inner.chain is template.outline
        assert np.array_equal(outer.chain.points, cloth[part.template].outline.points)
        assert part.outline is outer.chain


def test_an_allowance_never_scales():
    """The ring of a hexagon twice as large is wider by the same allowance."""
    for side in (12.7, 25.4, 50.8):
        (part,) = {
            p.template: p for p in make_parts(hexagons(side), Product.CLOTH, EVERYTHING).parts
        }.values()
        wide = measure.box(part.outline)
        across = min(wide[2] - wide[0], wide[3] - wide[1])
        assert across == pytest.approx(side * sqrt(3) + 2 * QUARTER, abs=1e-9)


def test_sides_and_words():
    """Papers show the back, cloth and windows the front; each title says what is included."""
    block = pinwheel()
    wanted = {
        Product.FINISHED: (Facing.BACK, "pieces-1", "papers, no seam allowance", "from the back"),
        Product.CLOTH: (
            Facing.FRONT,
            "cloth-1",
            "cloth shapes, includes 1/4 in (6.35 mm) seam",
            "from the front",
        ),
        Product.WINDOW: (
            Facing.FRONT,
            "window-1",
            "outside includes 1/4 in (6.35 mm) seam",
            "from the front",
        ),
    }
    for product, (facing, name, what, side) in wanted.items():
        sheet = piece_sheets(block, mat(), product=product, choices=EVERYTHING)[0]
        assert (sheet.product, sheet.facing, sheet.name) == (product, facing, name)
        assert what in sheet.title
        assert side in sheet.title
        mirrored = facing is Facing.BACK
        assert {c.placement.flipped != c.reversed for c in sheet.copies} == {mirrored}
        drawn = " ".join(w.text for w in sheet.letterings if w.purpose is Purpose.CHECK)
        assert what.split(",")[0] in drawn
    metric = piece_sheets(block, mat(), product=Product.CLOTH, choices=CutChoices((Product.CLOTH,), 7.0))[0]
    assert "includes 7 mm (0.276 in) seam allowance" in metric.title


def test_a_window_that_serves_reversed_pieces_says_so():
    """A sheet of window templates says to flip one over only where some pieces are reversed."""
    for block, flips in ((kite_pair(), True), (compass_flower(), False)):
        sheet = piece_sheets(block, mat(), product=Product.WINDOW, choices=EVERYTHING)[0]
        assert ("flip a template over" in sheet.title) == flips


def test_a_ring_that_fits_no_sheet_is_refused_by_name():
    """Where the finished piece fits but its cloth doesn't, the error says it is the cloth."""
    profile = mat()
    room = profile.width - profile.margins.left - profile.margins.right
    strip = profile.height - profile.margins.top - profile.margins.bottom
    square = hand_block("square", [(0, 0), (room - 4, 0), (room - 4, strip - 4), (0, strip - 4)],
                        [[(0, 0), (1, 0), (2, 0), (3, 0)]])  # fmt: skip
    assert len(piece_sheets(square, profile)) == 1
    with pytest.raises(OutputError) as caught:
        piece_sheets(square, profile, product=Product.CLOTH, choices=EVERYTHING)
    assert "the cloth of piece A" in caught.value.findings[0].what


def _arrows(sheet):
    shafts = [s for s in sheet.strokes if s.purpose is Purpose.MARK and len(s.chain) == 1]
    return {s.copy: s.chain.points[1] - s.chain.points[0] for s in shafts}


@pytest.mark.parametrize("grain", [None, 0.0, 30.0])
@pytest.mark.parametrize("make", [kite_pair, compass_flower, pinwheel, hexagons])
def test_grain_is_the_blocks_own_on_every_piece(make, grain):
    """In its place in the block, every cloth shape's arrow runs as the grain does: upright by default."""
    block = make()
    choices = CutChoices((Product.CLOTH,), QUARTER, grain_deg=grain)
    sheets = piece_sheets(block, mat(), product=Product.CLOTH, choices=choices)
    seen = 0
    for sheet in sheets:
        for number, way in _arrows(sheet).items():
            copy = sheet.copies[number]
            to_block = block.pieces[copy.piece].placement.after(copy.placement.inverse())
            x0, y0 = to_block.point(0.0, 0.0)
            x, y = to_block.point(*way)
            turn = degrees(np.arctan2(y - y0, x - x0)) - (90.0 if grain is None else grain)
            assert (turn + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=0.5 + 1e-6)
            assert ARROW_MM[0] - 1e-9 <= np.hypot(*way) <= ARROW_MM[1] + 1e-9
            seen += 1
    assert seen == len(block.pieces)


def test_arrows_lie_inside_the_finished_piece_and_leave_room_for_the_label():
    """Every arrow is inside the finished outline and clear of the label's circle."""
    for make in ALL:
        block = make()
        for part in make_parts(block, Product.CLOTH, EVERYTHING).parts:
            shape = shapely.Polygon(flat(block.templates[part.template].outline, 1e-3))
            marks = [shapely.LineString(s.chain.points) for s in part.strokes if s.purpose is Purpose.MARK]
            if not marks:
                continue
            assert shape.contains(marks[0])
            assert min(m.distance(shapely.Point(part.at)) for m in marks) >= part.clearance - 1e-9
            assert part.clearance > 0.0


def test_no_room_for_an_arrow_is_said():
    """A piece too small for the shortest arrow has none, and a note names it."""
    made = make_parts(kite_pair(8.0), Product.CLOTH, EVERYTHING)
    assert not any(s.purpose is Purpose.MARK for part in made.parts for s in part.strokes)
    (note,) = [f for f in made.findings if f.code == "CUT-018"]
    assert "grain arrow in A, B, C" in note.what


def test_removal_holes_have_card_about_them():
    """A paper has a hole where 4 mm of card stay round it, and its label keeps clear of the hole."""
    block = shifted_grid()
    made = make_parts(block, Product.FINISHED, EVERYTHING)
    pierced = 0
    for part in made.parts:
        template = block.templates[part.template]
        holes = [s.chain for s in part.strokes if s.purpose is Purpose.INNER]
        fits = template.clearance >= REMOVAL_MM / 2 + REMOVAL_RIM_MM
        assert len(holes) == fits
        for hole in holes:
            pierced += 1
            assert measure.area(hole) == pytest.approx(-pi * (REMOVAL_MM / 2) ** 2, rel=1e-12)
            middle = hole.points.mean(axis=0)
            rim = shapely.Polygon(flat(template.outline, 1e-3)).exterior.distance(shapely.Point(middle))
            assert rim >= REMOVAL_MM / 2 + REMOVAL_RIM_MM - 1e-3
            assert np.hypot(*(middle - part.at)) >= part.clearance + REMOVAL_MM / 2 - 1e-9
    assert pierced > 10
    none = make_parts(kite_pair(10.0), Product.FINISHED, EVERYTHING)
    assert [f.code for f in none.findings] == ["CUT-018"]
    assert all(len(part.strokes) == 1 for part in none.parts)


@pytest.mark.parametrize("make", [hexagons, pinwheel, kite_pair, lambda: diamond(60.0)])
def test_junction_holes_are_round_about_each_corner(make):
    """With junction holes an opening is the finished outline and a circle of 1.2 mm about each corner."""
    block = make()
    for part in make_parts(block, Product.WINDOW, EVERYTHING).parts:
        template = block.templates[part.template]
        opening = shapely.Polygon(flat(part.strokes[-2].chain, 1e-5))
        assert part.strokes[-2].purpose is Purpose.INNER
        wanted = shapely.Polygon(flat(template.outline, 1e-5))
        for at in template.outline.points:
            wanted = wanted.union(shapely.Point(at).buffer(0.6, quad_segs=400))
        assert opening.is_valid
        assert opening.symmetric_difference(wanted).area < 1e-5 * template.perimeter
        assert measure.area(part.strokes[-2].chain) > template.area


def test_junction_holes_only_where_they_fit():
    """A sharp corner and a narrow frame have none, and a note names the template."""
    sharp = make_parts(diamond(20.0), Product.WINDOW, EVERYTHING)
    outline = diamond(20.0).templates[0].outline
    opening = shapely.Polygon(flat(sharp.parts[0].strokes[-2].chain, 1e-5))
    grown = opening.difference(shapely.Polygon(outline.points).buffer(1e-6))
    assert len(grown.geoms) == 2
    assert "CUT-018" in {f.code for f in sharp.findings}
    narrow = make_parts(hexagons(), Product.WINDOW, replace(EVERYTHING, allowance_mm=1.5))
    assert np.array_equal(narrow.parts[0].strokes[-2].chain.points, hexagons().templates[0].outline.points)
    assert "CUT-018" in {f.code for f in narrow.findings}


@pytest.mark.parametrize("make", [hexagons, lambda: diamond(60.0), pinwheel])
def test_centre_lines_cross_the_frame(make):
    """Four ticks lie on two lines square to each other through the middle, each from opening to outside."""
    block = make()
    for part in make_parts(block, Product.WINDOW, replace(EVERYTHING, junction_holes=False)).parts:
        ticks = [s.chain for s in part.strokes if s.purpose is Purpose.MARK]
        assert len(ticks) == 4
        template = block.templates[part.template]
        middle = np.array(measure.centroid(template.outline))
        ways = []
        for tick in ticks:
            assert measure.distances_to(template.outline, tick.points[:1])[0] < 1e-9
            assert measure.distances_to(part.outline, tick.points[1:])[0] < 1e-9
            ways.append((tick.points[1] - middle) / np.hypot(*(tick.points[1] - middle)))
            assert ways[-1] == pytest.approx((tick.points[0] - middle) / np.hypot(*(tick.points[0] - middle)))
        for one, other, across in ((0, 1, -1.0), (2, 3, -1.0), (0, 2, 0.0)):
            assert ways[one] @ ways[other] == pytest.approx(across, abs=1e-9)


def test_centre_lines_run_along_and_across():
    """A diamond's centre lines are its diagonals, a hexagon's run from corner to corner and flat to flat."""
    (part,) = make_parts(diamond(60.0), Product.WINDOW, replace(EVERYTHING, junction_holes=False)).parts
    points = np.array([s.chain.points[0] for s in part.strokes if s.purpose is Purpose.MARK])
    corners = diamond(60.0).templates[0].outline.points
    for corner in corners:
        assert np.hypot(*(points - corner).T).min() < 1e-9
    part = make_parts(hexagons(), Product.WINDOW, replace(EVERYTHING, junction_holes=False)).parts[0]
    points = np.array([s.chain.points[0] for s in part.strokes if s.purpose is Purpose.MARK])
    away = np.sort(np.hypot(*(points - measure.centroid(hexagons().templates[0].outline)).T))
    assert away == pytest.approx([25.4 * sqrt(3) / 2] * 2 + [25.4] * 2, abs=1e-9)


@pytest.mark.parametrize("make", [hexagons, pinwheel, kite_pair, lambda: diamond(60.0)])
@pytest.mark.parametrize("size", [1.0, 3.0])
def test_words_on_a_frame_keep_off_the_centre_lines(make, size):
    """The place for words lies in the frame and as far from every cut and tick as it says."""
    block = make() if size == 1.0 else scaled(make(), size)
    for part in make_parts(block, Product.WINDOW, EVERYTHING).parts:
        at = shapely.Point(part.at)
        frame = shapely.Polygon(flat(part.outline, 1e-4), [flat(part.strokes[-2].chain, 1e-4)])
        assert frame.contains(at)
        marks = [shapely.LineString(s.chain.points) for s in part.strokes if s.purpose is Purpose.MARK]
        free = min(frame.boundary.distance(at), *(mark.distance(at) for mark in marks))
        assert free == pytest.approx(part.clearance, abs=1e-3)
        assert part.clearance > 0.4 * QUARTER


def test_hollows_that_fill_up_are_warned_of():
    """A hollow curve tighter than the allowance gives CUT-011 with its radius, a slot CUT-012."""
    hollow = hand_block("hollow", [(0, 0), (60, 0), (60, 40), (35, 40), (25, 40), (0, 40)],
                        [[(0, 0), (1, 0), (2, 0), (3, -1.0), (4, 0), (5, 0)]])  # fmt: skip
    for product in (Product.CLOTH, Product.WINDOW):
        (found,) = [f for f in make_parts(hollow, product, EVERYTHING).findings if f.code == "CUT-011"]
        assert found.value == pytest.approx(5.0)
        assert found.place.at is not None
        assert "6.35 mm" in found.what
    codes = [
        f.code for f in make_parts(hollow, Product.CLOTH, replace(EVERYTHING, allowance_mm=4.0)).findings
    ]
    assert "CUT-011" not in codes
    slot = hand_block("slot", [(0, 0), (60, 0), (60, 40), (34, 40), (34, 15), (26, 15), (26, 40), (0, 40)],
                      [[(k, 0) for k in range(8)]])  # fmt: skip
    assert "CUT-012" in [f.code for f in make_parts(slot, Product.CLOTH, EVERYTHING).findings]
    small = make_parts(kite_pair(14.0), Product.CLOTH, EVERYTHING)
    assert {f.code for f in small.findings} >= {"CUT-013"}


def test_a_hole_in_a_piece():
    """Cloth keeps a smaller hole while there is one; a window template says that it shows no hole."""
    block = pinwheel()
    template = block.templates[0]
    x, y = template.at
    for radius, left in ((9.0, 1), (5.0, 0)):
        hole = Chain(np.array([[x - radius, y], [x + radius, y]]), np.array([-1.0, -1.0]))
        pierced = replace(block, templates=(replace(template, holes=(hole,)),))
        cloth = make_parts(pierced, Product.CLOTH, EVERYTHING)
        inner = [s for s in cloth.parts[0].strokes if s.purpose is Purpose.INNER]
        assert len(inner) == left
        assert ("CUT-014" in {f.code for f in cloth.findings}) == (left == 0)
        window = make_parts(pierced, Product.WINDOW, EVERYTHING)
        assert [s.purpose for s in window.parts[0].strokes].count(Purpose.INNER) == 1
        assert "CUT-015" in {f.code for f in window.findings}


def test_yield_counts_papers():
    """The yield is that of papers, whatever else is cut."""
    block = pinwheel()
    assert sheet_yield(block, mat(), EVERYTHING) == sheet_yield(block, mat())
