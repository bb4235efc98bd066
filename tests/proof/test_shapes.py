"""Cloth shapes, window templates and cuts moved for a kerf: sound ones pass, and every damage is found."""

from dataclasses import replace
from math import radians

import numpy as np
import pytest
from hand_blocks import ALL, compass_flower, kite_pair, pinwheel
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Facing, Product, Purpose, Stroke
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity
from convert.proof import prove, prove_set
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

WRITE = {"svg": svg_bytes, "dxf": dxf_bytes}
QUARTER = 6.35
PLAIN = CutChoices(tuple(Product), QUARTER)
FULL = CutChoices(tuple(Product), QUARTER, junction_holes=True, centre_lines=True, removal_holes=True)


def _prove(sheet, block, profile, choices=PLAIN, kind="svg"):
    return prove(WRITE[kind](sheet, profile), kind, sheet, block, profile, choices=choices)


def _codes(proof):
    return {finding.code for finding in proof.findings}


@pytest.mark.parametrize(
    ("choices", "kerf"),
    [(PLAIN, 0.0), (FULL, 0.4), (replace(FULL, allowance_mm=9.525), 0.08)],
    ids=["plain", "full", "3/8"],
)
@pytest.mark.parametrize("product", Product)
@pytest.mark.parametrize("make", ALL)
def test_sound_files_pass(make, product, choices, kerf):
    """Every product, with and without holes and kerf, passes in both formats with a few rounding steps."""
    block, profile = make(), mat(kerf=kerf)
    sheets = piece_sheets(block, profile, product=product, choices=choices, blocks=2)
    for kind, write in WRITE.items():
        files = [(write(sheet, profile), sheet.name) for sheet in sheets]
        proof = prove_set(files, kind, sheets, block, profile, choices)
        assert proof.passed, [f.line() for f in proof.findings]
        assert proof.largest_deviation < 5e-6
        assert proof.checked > sum(len(sheet.copies) for sheet in sheets)


@pytest.mark.parametrize("kerf", [0.08, 0.4])
@pytest.mark.parametrize("facing", [Facing.FRONT, Facing.BACK])
@pytest.mark.parametrize("make", ALL)
def test_assembled_with_a_kerf_passes(make, facing, kerf):
    """A whole block whose outside was moved by half a kerf passes, from either side."""
    block, profile = make(), mat(kerf=kerf)
    sheet = assembled_sheet(block, profile, facing)
    for kind in WRITE:
        proof = _prove(sheet, block, profile, kind=kind)
        assert proof.passed, [f.line() for f in proof.findings]
        assert proof.largest_deviation < 5e-6


def _change(sheet, purpose, change):
    number = next(i for i, s in enumerate(sheet.strokes) if s.purpose is purpose)
    changed = change(sheet.strokes[number])
    return replace(sheet, strokes=(*sheet.strokes[:number], *changed, *sheet.strokes[number + 1 :]))


def _with(stroke, points=None, bulge=None):
    chain = stroke.chain
    made = Chain(chain.points if points is None else points, chain.bulge if bulge is None else bulge)
    return Stroke(made, stroke.purpose, stroke.copy)


def _vertex(number):
    def change(stroke):
        points = stroke.chain.points.copy()
        points[number] += [0.006, 0.008]
        return [_with(stroke, points)]

    return change


def _bent(stroke):
    bulge = stroke.chain.bulge.copy()
    bulge[int(np.argmax(np.hypot(*np.diff(stroke.chain.points, axis=0).T)))] += 1e-4
    return [_with(stroke, bulge=bulge)]


def _larger(stroke):
    middle = stroke.chain.points.mean(axis=0)
    return [_with(stroke, (stroke.chain.points - middle) * 1.001 + middle)]


def _turned(stroke):
    middle = stroke.chain.points.mean(axis=0)
    turn = Similarity.shift(*middle).after(Similarity.turn(radians(0.1)).after(Similarity.shift(*-middle)))
    return [Stroke(turn.chain(stroke.chain), stroke.purpose, stroke.copy)]


def _spiked(stroke):
    """Run from one vertex out and back again."""
    points, bulge = stroke.chain.points, stroke.chain.bulge
    out = points[:1] + np.array([0.05, 0.02])
    return [_with(stroke, np.vstack((points[:1], out, points)), np.concatenate(([0.0, 0.0], bulge)))]


def _cornerless(stroke):
    """Leave one vertex out."""
    return [_with(stroke, stroke.chain.points[1:], stroke.chain.bulge[1:])]


DAMAGE = {
    "first vertex moved by 0.01 mm": _vertex(0),
    "second vertex moved by 0.01 mm": _vertex(1),
    "last vertex moved by 0.01 mm": _vertex(-1),
    "missing": lambda _: [],
    "twice": lambda stroke: [stroke, stroke],
    "a side bent": _bent,
    "a thousandth larger": _larger,
    "turned a little": _turned,
    "a spike": _spiked,
    "a corner left out": _cornerless,
    "shifted by 0.01 mm": lambda stroke: [_with(stroke, stroke.chain.points + np.array([0.01, 0.0]))],
}


@pytest.mark.parametrize("kerf", [0.0, 0.2])
@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize(
    ("product", "purpose"),
    [(Product.CLOTH, Purpose.OUTER), (Product.WINDOW, Purpose.OUTER), (Product.WINDOW, Purpose.INNER)],
    ids=["cloth", "frame", "opening"],
)
@pytest.mark.parametrize("make", [pinwheel, kite_pair, compass_flower])
def test_damaged_sheet_fails(make, product, purpose, damage, kerf):
    """A shape not at its distance from the finished outline fails though the file is like its sheet."""
    block, profile = make(), mat(kerf=kerf)
    sheet = piece_sheets(block, profile, product=product, choices=PLAIN)[0]
    damaged = _change(sheet, purpose, DAMAGE[damage])
    assert _prove(sheet, block, profile).passed
    assert not _prove(damaged, block, profile).passed


@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize("make", [pinwheel, kite_pair])
def test_damaged_kerf_fails(make, damage):
    """Papers cut for a kerf, and an assembled block's outside, fail with any of the damages."""
    block, profile = make(), mat(kerf=0.2)
    for sheet in (piece_sheets(block, profile)[0], assembled_sheet(block, profile)):
        damaged = _change(sheet, Purpose.OUTER, DAMAGE[damage])
        assert not _prove(damaged, block, profile).passed


@pytest.mark.parametrize("product", Product)
def test_another_allowance_or_kerf_fails(product):
    """Sheets made for one allowance or kerf fail when another one was asked for."""
    block = pinwheel()
    for made, asked in ((0.2, 0.0), (0.0, 0.2), (0.2, 0.21), (0.2, 0.1996)):
        sheet = piece_sheets(block, mat(kerf=made), product=product, choices=PLAIN)[0]
        assert _prove(sheet, block, mat(kerf=made)).passed
        assert not _prove(sheet, block, mat(kerf=asked)).passed
    if product is not Product.FINISHED:
        sheet = piece_sheets(block, mat(), product=product, choices=PLAIN)[0]
        for wide in (6.3498, 6.3502, 9.525):
            assert not _prove(sheet, block, mat(), replace(PLAIN, allowance_mm=wide)).passed
    whole = assembled_sheet(block, mat(kerf=0.2))
    assert not _prove(whole, block, mat()).passed
    assert not _prove(whole, block, mat(kerf=0.21)).passed
    assert not _prove(assembled_sheet(block, mat()), block, mat(kerf=0.2)).passed


def test_products_are_not_mixed_up():
    """A sheet of one product that says it is another fails."""
    block = pinwheel()
    for made in Product:
        sheet = piece_sheets(block, mat(), product=made, choices=PLAIN)[0]
        for said in set(Product) - {made}:
            assert not _prove(replace(sheet, product=said), block, mat()).passed


@pytest.mark.parametrize("product", [Product.CLOTH, Product.WINDOW])
def test_mirrored_shapes_fail(product):
    """Sheets that show the other side than they say fail."""
    block, profile = pinwheel(), mat()
    for made, said in ((Facing.FRONT, Facing.BACK), (Facing.BACK, Facing.FRONT)):
        sheet = piece_sheets(block, profile, made, product=product, choices=PLAIN)[0]
        assert "PROOF-014" in _codes(_prove(replace(sheet, facing=said), block, profile))


@pytest.mark.parametrize("product", Product)
def test_missing_and_spare_copies_fail_over_the_set(product):
    """A set that lacks a copy or has one too many fails, a second window template too."""
    block, profile = kite_pair(), mat()
    (sheet,) = piece_sheets(block, profile, product=product, choices=PLAIN)
    last = len(sheet.copies) - 1
    less = replace(
        sheet, copies=sheet.copies[:last], strokes=tuple(s for s in sheet.strokes if s.copy != last)
    )
    assert "PROOF-014" in _codes(
        prove_set([(svg_bytes(less, profile), "a")], "svg", [less], block, profile, PLAIN)
    )
    twice = [(svg_bytes(sheet, profile), "a")] * 2
    assert "PROOF-014" in _codes(prove_set(twice, "svg", [sheet, sheet], block, profile, PLAIN))


@pytest.mark.parametrize("product", [Product.CLOTH, Product.WINDOW])
def test_rings_that_overlap_fail_though_the_pieces_do_not(product):
    """The gap is that between outermost outlines."""
    block, profile = pinwheel(), mat()
    sheet = piece_sheets(block, profile, product=product, choices=PLAIN, blocks=2)[0]
    if len(sheet.copies) < 2:
        sheet = piece_sheets(kite_pair(), profile, product=product, choices=PLAIN)[0]
        block = kite_pair()
    shift = Similarity.shift(-(profile.gap + QUARTER), 0.0)
    copies = list(sheet.copies)
    copies[1] = replace(copies[1], placement=shift.after(copies[1].placement))
    strokes = [replace(s, chain=shift.chain(s.chain)) if s.copy == 1 else s for s in sheet.strokes]
    moved = replace(sheet, copies=tuple(copies), strokes=tuple(strokes))
    found = _codes(_prove(moved, block, profile))
    assert found == {"PROOF-016"}


def test_removal_holes_must_be_round_and_have_card_about_them():
    """A removal hole of another size, out of its place or not round fails; so does one nobody asked for."""
    block, profile = pinwheel(), mat()
    (sheet,) = piece_sheets(block, profile, choices=FULL)
    assert _prove(sheet, block, profile, FULL).passed
    assert not _prove(sheet, block, profile, PLAIN).passed

    def moved(stroke):
        return [_with(stroke, stroke.chain.points + np.array([[30.0, 0.0]]))]

    def flat(stroke):
        return [_with(stroke, bulge=stroke.chain.bulge * 0.99)]

    for change in (_larger, moved, flat, lambda stroke: [stroke, stroke]):
        assert not _prove(_change(sheet, Purpose.INNER, change), block, profile, FULL).passed


def test_junction_holes_must_lie_on_corners():
    """A hole of another size, or beside its corner, fails; so do holes nobody asked for."""
    block, profile = pinwheel(), mat()
    (sheet,) = piece_sheets(block, profile, product=Product.WINDOW, choices=FULL)
    assert _prove(sheet, block, profile, FULL).passed
    assert not _prove(sheet, block, profile, PLAIN).passed
    for number in range(12):
        assert not _prove(_change(sheet, Purpose.INNER, _vertex(number)), block, profile, FULL).passed


def test_order_direction_and_start_of_cuts_do_not_matter():
    """Cuts in another order, the other way round or begun elsewhere are as good."""
    for make in (pinwheel, compass_flower, kite_pair):
        block = make()
        for kerf in (0.0, 0.2):
            profile = mat(kerf=kerf)
            for product in Product:
                sheet = piece_sheets(block, profile, product=product, choices=FULL)[0]
                strokes = [_begun_elsewhere(s) if s.chain.closed else s for s in reversed(sheet.strokes)]
                other = replace(sheet, strokes=tuple(strokes))
                proof = _prove(other, block, profile, FULL)
                assert proof.passed, [f.line() for f in proof.findings]


def _begun_elsewhere(stroke):
    points, bulge = stroke.chain.points[::-1], -np.roll(stroke.chain.bulge[::-1], -1)
    return Stroke(Chain(np.roll(points, -1, axis=0), np.roll(bulge, -1)), stroke.purpose, stroke.copy)


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_cloth_keeps_the_holes_of_its_piece(kerf):
    """Of two holes the large one is cut smaller by the allowance and proved, the small one is none."""
    block, profile = pinwheel(), mat(kerf=kerf)
    template = block.templates[0]
    x, y = template.at

    def hole(radius, dx):
        ends = np.array([[x + dx - radius, y], [x + dx + radius, y]])
        return Chain(ends, np.array([-1.0, -1.0]))

    holes = (hole(8.0, 0.0), hole(2.0, 13.0))
    area = template.area - np.pi * (8.0**2 + 2.0**2)
    block = replace(block, templates=(replace(template, holes=holes, area=area),))
    for product in Product:
        sheet = piece_sheets(block, profile, product=product, choices=PLAIN)[0]
        proof = _prove(sheet, block, profile)
        assert proof.passed, [f.line() for f in proof.findings]
        for change in (lambda _: [], _larger, _vertex(0)):
            assert not _prove(_change(sheet, Purpose.INNER, change), block, profile).passed
