"""What is drawn for a piece must lie in it, in every format and arrangement."""

from dataclasses import replace

import numpy as np
import pytest
from hand_blocks import ALL, compass_flower, shifted_grid
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Facing, Product, Purpose
from convert.geometry.chain import Chain
from convert.proof import prove
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes

WRITE = {"svg": svg_bytes, "dxf": dxf_bytes}


def _all_sheets(block, profile):
    for facing in (Facing.FRONT, Facing.BACK):
        yield from piece_sheets(block, profile, facing)
        yield assembled_sheet(block, profile, facing)


@pytest.mark.parametrize("kind", WRITE)
@pytest.mark.parametrize("make", ALL)
def test_words_and_marks_pass_as_they_are(make, kind):
    """Sheets of either facing pass, and they do have something drawn in their pieces."""
    profile, block = mat(), make()
    for sheet in _all_sheets(block, profile):
        assert any(s.purpose is Purpose.LETTER for s in sheet.strokes)
        proof = prove(WRITE[kind](sheet, profile), kind, sheet, block, profile)
        assert proof.passed, [f.line() for f in proof.findings]


@pytest.mark.parametrize("kind", WRITE)
@pytest.mark.parametrize("purpose", [Purpose.LETTER, Purpose.MARK])
@pytest.mark.parametrize("make", [shifted_grid, compass_flower])
def test_a_stroke_that_leaves_its_piece_fails(make, purpose, kind):
    """One stroke moved out of its piece fails, be it into a neighbour or off all of them."""
    profile, block = mat(), make()
    for sheet in (assembled_sheet(block, profile), *piece_sheets(block, profile)):
        rows = [n for n, s in enumerate(sheet.strokes) if s.purpose is purpose and s.copy == 0]
        far = np.hypot(*np.ptp(block.pieces[sheet.copies[0].piece].outline.points, axis=0))
        if not rows:
            continue
        stroke = sheet.strokes[rows[0]]
        for step in ((0.0, far), (far, 0.0)):
            moved = Chain(stroke.chain.points + step, stroke.chain.bulge, closed=False)
            strokes = list(sheet.strokes)
            strokes[rows[0]] = replace(stroke, chain=moved)
            bad = replace(sheet, strokes=tuple(strokes))
            proof = prove(WRITE[kind](bad, profile), kind, bad, block, profile)
            assert "PROOF-018" in {f.code for f in proof.findings} or "PROOF-011" in {
                f.code for f in proof.findings
            }


def test_words_in_a_windows_opening_fail():
    """A window's words lie in its frame; moved into the opening, they fall out with the waste."""
    profile, block = mat(), shifted_grid()
    choices = CutChoices((Product.WINDOW,), 12.0)
    for sheet in piece_sheets(block, profile, product=Product.WINDOW, choices=choices):
        assert prove(svg_bytes(sheet, profile), "svg", sheet, block, profile, choices=choices).passed
        (opening,) = [s.chain for s in sheet.strokes if s.purpose is Purpose.INNER and s.copy == 0]
        middle = opening.points.mean(axis=0)
        strokes = [
            replace(
                s, chain=Chain(s.chain.points - s.chain.points.mean(axis=0) + middle, s.chain.bulge, False)
            )
            if s.purpose is Purpose.LETTER and s.copy == 0
            else s
            for s in sheet.strokes
        ]
        bad = replace(sheet, strokes=tuple(strokes))
        proof = prove(svg_bytes(bad, profile), "svg", bad, block, profile, choices=choices)
        assert {f.code for f in proof.findings} == {"PROOF-018"}


def _swap(text, old, new):
    assert old in text
    return text.replace(old, new, 1)


def _at_mark(text, layer, old, new):
    first = text.index(f"  8\n{layer}\n100\nAcDbPolyline\n")
    return text[:first] + _swap(text[first:], old, new)


def _handle_again(text, layer):
    """Give the first drawn polyline the handle of the entity before it."""
    first = text.index(f"  8\n{layer}\n100\nAcDbPolyline\n")
    head = text.rindex("  0\nLWPOLYLINE\n  5\n", 0, first) + len("  0\nLWPOLYLINE\n  5\n")
    end = text.index("\n", head)
    other = text.index("  0\nTEXT\n  5\n") + len("  0\nTEXT\n  5\n")
    return text[:head] + text[other : text.index("\n", other)] + text[end:]


@pytest.mark.parametrize(
    "damage",
    [
        lambda t, m: _swap(t, f"  8\n{m}\n100\nAcDbPolyline\n 90\n", f"  8\n{m}\n100\nAcDbPolyline\n 90\n9"),
        lambda t, m: _swap(t, f"  8\n{m}\n100\nAcDbPolyline\n", f"  8\n{m}\n 62\n1\n100\nAcDbPolyline\n"),
        lambda t, m: _at_mark(t, m, "\n 10\n", "\n 11\n"),
        lambda t, m: _at_mark(t, m, "\n 20\n", "\n 20\nx"),
        lambda t, m: _at_mark(t, m, "\n 70\n0\n", "\n 70\n8\n"),
        _handle_again,
    ],
)
def test_a_damaged_pen_stroke_is_found(damage):
    """The small reader of drawn polylines knows our own spelling only: counts, codes, numbers, handles."""
    profile, block = mat(), shifted_grid()
    sheet = assembled_sheet(block, profile)
    text = dxf_bytes(sheet, profile).decode("cp1252")
    bad = damage(text, profile.layers[Purpose.MARK].name).encode("cp1252")
    assert prove(text.encode("cp1252"), "dxf", sheet, block, profile).passed
    assert not prove(bad, "dxf", sheet, block, profile).passed
