"""Every kind of damage is found: in the file against its sheet, and in the sheet against the block.

Each damage is done to the sheet, which is then written. Proved against the good sheet, it is a
file that went wrong; proved against the damaged sheet, it is a stage before the writer that did.
"""

from dataclasses import replace
from math import radians

import numpy as np
import pytest
from hand_blocks import ALL, compass_flower, kite_pair, pinwheel
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Purpose, Stroke
from convert.geometry import measure
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity
from convert.proof import prove, prove_set
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

WRITE = {"svg": svg_bytes, "dxf": dxf_bytes}
FORMATS = ("svg", "dxf")


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize(
    "profile",
    [
        mat(),
        mat(dxf={"version": "R12"}),
        mat(dxf={"unit": "in", "digits": 7}),
        mat(svg={"units_per_inch": 72.0}, gap=0.5),
    ],
    ids=["default", "R12", "inches", "72 units"],
)
def test_undamaged_files_pass(make, kind, profile):
    """What is written passes, with deviations of a few rounding steps at most."""
    block = make()
    for sheets in ((assembled_sheet(block, profile),), piece_sheets(block, profile, blocks=2)):
        files = [(WRITE[kind](sheet, profile), sheet.name) for sheet in sheets]
        proof = prove_set(files, kind, sheets, block, profile)
        assert proof.passed, [f.line() for f in proof.findings]
        assert proof.checked > len(block.pieces)
        assert 0.0 <= proof.largest_deviation < 1e-5


def _strokes(sheet, change):
    """Change the first outline (or, in an assembled block, the first seam) of a sheet."""
    number = next(i for i, s in enumerate(sheet.strokes) if s.purpose in {Purpose.OUTER, Purpose.SEAM})
    changed = change(sheet.strokes[number])
    return replace(sheet, strokes=(*sheet.strokes[:number], *changed, *sheet.strokes[number + 1 :]))


def _with(stroke, points=None, bulge=None, **more):
    chain = stroke.chain
    made = Chain(
        chain.points if points is None else points, chain.bulge if bulge is None else bulge, chain.closed
    )
    return Stroke(made, more.get("purpose", stroke.purpose), stroke.copy)


def _moved_vertex(stroke):
    points = stroke.chain.points.copy()
    points[0] += [0.006, 0.008]  # 0.01 mm
    return [_with(stroke, points)]


def _mirrored(stroke):
    low, high = stroke.chain.points[:, 0].min(), stroke.chain.points[:, 0].max()
    image = Similarity.shift(low + high, 0.0).after(Similarity.mirror_x())
    outline = image.outline(stroke.chain) if stroke.chain.closed else image.chain(stroke.chain)
    return [Stroke(outline, stroke.purpose, stroke.copy)]


def _bent(stroke):
    bulge = stroke.chain.bulge.copy()
    curved = np.flatnonzero(bulge)
    if len(curved):
        bulge[curved[0]] *= -1
    else:
        bulge[0] = 1e-3
    return [_with(stroke, bulge=bulge)]


def _bent_a_little(stroke):
    bulge = stroke.chain.bulge.copy()
    bulge[0] += 2e-5
    return [_with(stroke, bulge=bulge)]


def _larger(stroke):
    middle = stroke.chain.points.mean(axis=0)
    return [_with(stroke, (stroke.chain.points - middle) * 1.001 + middle)]


def _opened(stroke):
    return [
        Stroke(Chain(stroke.chain.points, stroke.chain.bulge[:-1], closed=False), stroke.purpose, stroke.copy)
    ]


def _turned(stroke):
    middle = stroke.chain.points.mean(axis=0)
    turn = Similarity.shift(*middle).after(Similarity.turn(radians(0.01)).after(Similarity.shift(*-middle)))
    return [Stroke(turn.chain(stroke.chain), stroke.purpose, stroke.copy)]


DAMAGE = {
    "one vertex moved by 0.01 mm": _moved_vertex,
    "missing": lambda _: [],
    "twice": lambda stroke: [stroke, stroke],
    "mirrored": _mirrored,
    "an arc bent the other way": _bent,
    "an arc bent a little": _bent_a_little,
    "a thousandth larger": _larger,
    "open": _opened,
    "on another layer": lambda stroke: [_with(stroke, purpose=Purpose.MARK)],
    "shifted by 0.01 mm": lambda stroke: [_with(stroke, stroke.chain.points + np.array([0.01, 0.0]))],
}


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize("arrangement", ["pieces", "assembled"])
@pytest.mark.parametrize("make", [pinwheel, kite_pair])
def test_damaged_file_fails(make, arrangement, damage, kind):
    """A file that differs from its sheet in one stroke fails, in either format and arrangement."""
    profile, block = mat(), make()
    sheet = piece_sheets(block, profile)[0] if arrangement == "pieces" else assembled_sheet(block, profile)
    chosen = next(s for s in sheet.strokes if s.purpose in {Purpose.OUTER, Purpose.SEAM})
    if damage == "open" and not chosen.chain.closed:
        pytest.skip("seams are open")
    if damage == "mirrored" and make is kite_pair:
        pytest.skip("a square and a straight seam are their own mirror images")
    damaged = _strokes(sheet, DAMAGE[damage])
    proof = prove(WRITE[kind](damaged, profile), kind, sheet, block, profile, file="there.cut")
    assert not proof.passed
    assert all(f.place.file == "there.cut" for f in proof.findings)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize("arrangement", ["pieces", "assembled"])
def test_damaged_sheet_fails(arrangement, damage, kind):
    """A file that is like its sheet fails when the sheet is not like the block."""
    profile, block = mat(), pinwheel()
    sheet = piece_sheets(block, profile)[0] if arrangement == "pieces" else assembled_sheet(block, profile)
    chosen = next(s for s in sheet.strokes if s.purpose in {Purpose.OUTER, Purpose.SEAM})
    if damage == "open" and not chosen.chain.closed:
        pytest.skip("seams are open")
    if damage == "shifted by 0.01 mm" and arrangement == "pieces":
        pytest.skip("a separate piece may lie anywhere")
    damaged = _strokes(sheet, DAMAGE[damage])
    proof = prove(WRITE[kind](damaged, profile), kind, damaged, block, profile)
    assert not proof.passed


@pytest.mark.parametrize("kind", FORMATS)
def test_missing_copy_fails_over_the_set(kind):
    """A set of sheets that lacks one copy, or has one too many, fails though each file is like its sheet."""
    profile, block = mat(), kite_pair()
    (sheet,) = piece_sheets(block, profile)
    last = len(sheet.copies) - 1
    less = replace(
        sheet,
        copies=sheet.copies[:last],
        strokes=tuple(s for s in sheet.strokes if s.copy != last),
        letterings=tuple(w for w in sheet.letterings if w.copy != last),
    )
    proof = prove_set([(WRITE[kind](less, profile), "a")], kind, [less], block, profile)
    assert [f.code for f in proof.findings] == ["PROOF-014"]
    assert "C reversed is there 0 times, not 1" in proof.findings[0].what


@pytest.mark.parametrize("kind", FORMATS)
def test_overlap_and_narrow_gap_fail(kind):
    """Two pieces on top of each other, or nearer than the gap, fail."""
    profile, block = mat(), pinwheel()
    (sheet,) = piece_sheets(block, profile)
    outer = [i for i, s in enumerate(sheet.strokes) if s.purpose is Purpose.OUTER]
    for nearer in (0.01, 60.0):
        strokes = list(sheet.strokes)
        moved = strokes[outer[1]]
        strokes[outer[1]] = _with(moved, moved.chain.points - [nearer, 0.0])
        damaged = replace(sheet, strokes=tuple(strokes))
        proof = prove(WRITE[kind](damaged, profile), kind, damaged, block, profile)
        assert "PROOF-016" in {f.code for f in proof.findings}
        assert prove(WRITE[kind](damaged, profile), kind, damaged, block, mat(gap=0.0001)).passed == (
            nearer == 0.01
        )


@pytest.mark.parametrize("kind", FORMATS)
def test_outside_the_usable_area_fails(kind):
    """A piece that leaves the usable area fails."""
    profile, block = mat(), pinwheel()
    (sheet,) = piece_sheets(block, profile)
    damaged = _strokes(sheet, lambda s: [_with(s, s.chain.points - [0.01, 0.0])])
    proof = prove(WRITE[kind](damaged, profile), kind, damaged, block, profile)
    assert {f.code for f in proof.findings} == {"PROOF-011"}


@pytest.mark.parametrize("kind", FORMATS)
def test_lost_and_changed_words_fail(kind):
    """A label that is missing, elsewhere, smaller or other than it should be fails."""
    profile, block = mat(), pinwheel()
    sheet = assembled_sheet(block, profile)
    last = sheet.letterings[-1]
    for changed in (
        (),
        (replace(last, text="B9"),),
        (replace(last, at=(last.at[0] + 1.0, last.at[1])),),
        (replace(last, height=last.height / 2),),
        (replace(last, angle_rad=1.0),),
        (last, last),
    ):
        damaged = replace(sheet, letterings=(*sheet.letterings[:-1], *changed))
        proof = prove(WRITE[kind](damaged, profile), kind, sheet, block, profile)
        assert {f.code for f in proof.findings} == {"PROOF-013"}


def test_mirrored_block_fails():
    """A whole block of which the sheet shows the other side than it says fails."""
    profile, block = mat(), pinwheel()
    for one, other in ((True, False), (False, True)):
        from convert.cutting.sheet import Facing

        side = {True: Facing.BACK, False: Facing.FRONT}
        whole = replace(assembled_sheet(block, profile, side[one]), facing=side[other])
        assert not prove(svg_bytes(whole, profile), "svg", whole, block, profile).passed
        pieces = replace(piece_sheets(block, profile, side[one])[0], facing=side[other])
        assert not prove(svg_bytes(pieces, profile), "svg", pieces, block, profile).passed


def _swap(data, old, new):
    assert data.count(old) >= 1
    return data.replace(old, new, 1)


def test_wrong_unit_fails_svg():
    """A page stated in another unit, or stretched, fails."""
    profile, block = mat(), compass_flower()
    sheet = assembled_sheet(block, profile)
    data = svg_bytes(sheet, profile)
    for bad in (
        _swap(data, b'width="304.8mm"', b'width="304.8px"'),
        _swap(data, b'height="304.8mm"', b'height="304.9mm"'),
        _swap(_swap(data, b'width="304.8mm"', b'width="12.01in"'), b'height="304.8mm"', b'height="12.01in"'),
    ):
        assert not prove(bad, "svg", sheet, block, profile).passed
    good = _swap(_swap(data, b'width="304.8mm"', b'width="12in"'), b'height="304.8mm"', b'height="1152px"')
    assert prove(good, "svg", sheet, block, profile).passed
    other = mat(svg={"units_per_inch": 72.0})
    assert not prove(svg_bytes(sheet, other), "svg", sheet, block, profile).passed


def test_wrong_unit_fails_dxf():
    """A header that states another unit than the coordinates are in, or none, fails."""
    profile, block = mat(), compass_flower()
    sheet = assembled_sheet(block, profile)
    data = dxf_bytes(sheet, profile)
    for number in (b"1", b"0", b"5"):
        bad = _swap(data, b"$INSUNITS\n 70\n4\n", b"$INSUNITS\n 70\n" + number + b"\n")
        assert not prove(bad, "dxf", sheet, block, profile).passed
    bad = _swap(data, b"$MEASUREMENT\n 70\n1\n", b"$MEASUREMENT\n 70\n0\n")
    assert {f.code for f in prove(bad, "dxf", sheet, block, profile).findings} == {"PROOF-002"}
    inches = mat(dxf={"unit": "in", "digits": 7})
    assert not prove(dxf_bytes(sheet, inches), "dxf", sheet, block, profile).passed


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[: len(data) // 2],
        lambda _: b"",
        lambda _: b"hello",
        lambda data: _swap(data, b"</g>", b'<circle r="3"/></g>'),
        lambda data: _swap(data, b'<path d="M', b'<path transform="scale(2)" d="M'),
        lambda data: _swap(data, b' Z"', b' Q1,1 2,2 Z"'),
        lambda data: _swap(data, b"<g ", b'<g transform="scale(2)" '),
    ],
)
def test_svg_with_anything_else_in_it_is_not_readable(spoil):
    """A cut-off file, or one with things in it that are never written, fails as unreadable."""
    profile, block = mat(), compass_flower()
    sheet = assembled_sheet(block, profile)
    proof = prove(spoil(svg_bytes(sheet, profile)), "svg", sheet, block, profile)
    assert [f.code for f in proof.findings] == ["PROOF-001"]


@pytest.mark.parametrize("spoil", [lambda data: data[: len(data) // 2], lambda _: b"", lambda _: b"hello"])
def test_spoilt_dxf_is_not_readable(spoil):
    """A cut-off or foreign file fails as unreadable."""
    profile, block = mat(), compass_flower()
    sheet = assembled_sheet(block, profile)
    proof = prove(spoil(dxf_bytes(sheet, profile)), "dxf", sheet, block, profile)
    assert [f.code for f in proof.findings] == ["PROOF-001"]


@pytest.mark.parametrize("make", [pinwheel, compass_flower, kite_pair])
def test_order_direction_and_start_of_cuts_do_not_matter(make):
    """Strokes in another order, run the other way round or begun in the middle of a side are as good."""
    profile, block = mat(), make()
    for sheet in (assembled_sheet(block, profile), piece_sheets(block, profile)[0]):
        strokes = [_begun_elsewhere(s) if s.chain.closed else s for s in reversed(sheet.strokes)]
        other = replace(sheet, strokes=tuple(strokes))
        for kind, write in WRITE.items():
            proof = prove(write(other, profile), kind, other, block, profile)
            assert proof.passed, [f.line() for f in proof.findings]
        spoilt = _strokes(other, _moved_vertex)
        assert not prove(svg_bytes(spoilt, profile), "svg", spoilt, block, profile).passed


def _begun_elsewhere(stroke):
    """Turn a closed stroke round and begin it in the middle of its second side."""
    points, bulge = stroke.chain.points[::-1], -np.roll(stroke.chain.bulge[::-1], -1)
    points, bulge = np.roll(points, -1, axis=0), np.roll(bulge, -1)
    chord = points[1 % len(points)] - points[0]
    middle = points[0] + 0.5 * chord + 0.5 * bulge[0] * np.array([chord[1], -chord[0]])
    half = np.tan(np.arctan(bulge[0]) / 2)
    points = np.vstack((middle, points[1:], points[:1]))
    return Stroke(Chain(points, [half, *bulge[1:], half]), stroke.purpose, stroke.copy)


@pytest.mark.parametrize("kind", FORMATS)
def test_pieces_with_holes(kind):
    """A piece with holes is proved with them: one missing, moved, or of another size is found."""
    profile, block = mat(), pinwheel()
    template = block.templates[0]
    low = np.array(template.at)
    holes = tuple(
        Chain(low + np.array([[0, 0], [0, size], [size, size], [size, 0]]) + shift, [0.0, 0.0, 0.0, 0.2])
        for size, shift in ((3.0, [0.0, 0.0]), (2.0, [4.0, 1.0]))
    )
    hollow = sum(-measure.area(hole) for hole in holes)
    pierced = replace(template, holes=holes, area=template.area - hollow)
    block = replace(block, templates=(pierced,))
    (sheet,) = piece_sheets(block, profile)
    assert prove(WRITE[kind](sheet, profile), kind, sheet, block, profile).passed
    inner = [i for i, s in enumerate(sheet.strokes) if s.purpose is Purpose.INNER]
    assert len(inner) == 8
    assert all(s.purpose is not Purpose.INNER for s in sheet.strokes[inner[-1] + 1 :])
    strokes = list(sheet.strokes)
    swapped = [*strokes[: inner[0]], strokes[inner[1]], strokes[inner[0]], *strokes[inner[2] :]]
    good = replace(sheet, strokes=tuple(swapped))
    assert prove(WRITE[kind](good, profile), kind, good, block, profile).passed
    one = strokes[inner[0]]
    for changed in ([], [_with(one, one.chain.points + 0.01)], [_larger(one)[0]], [one, one]):
        bad = replace(sheet, strokes=(*strokes[: inner[0]], *changed, *strokes[inner[1] :]))
        assert not prove(WRITE[kind](bad, profile), kind, bad, block, profile).passed


@pytest.mark.parametrize(
    "name",
    [
        " spaces  inside and at the end ",
        "M\N{LATIN SMALL LETTER O WITH DIAERESIS}we \N{GRINNING FACE} \N{CJK UNIFIED IDEOGRAPH-84EE}",
        "a\nb\tc\x00d\udc80e",
        "<b> & \"quotes\" 'n' ^J %%d \\U+0041 {x}",
        "x" * 300,
        "1e-05",
        "",
    ],
)
def test_odd_names_pass(name):
    """Whatever a drawing is called, its title is written, read back as it was, and proved."""
    profile = mat()
    block = replace(pinwheel(), name=name)
    for sheet in (assembled_sheet(block, profile), *piece_sheets(block, profile)):
        for kind, write in WRITE.items():
            for version in ("R2000", "R12"):
                other = mat(dxf={"version": version})
                proof = prove(write(sheet, other), kind, sheet, block, other)
                assert proof.passed, [f.line() for f in proof.findings]
