"""A booklet read back: pages, check lengths, and every template against its sheet and its block."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.booklet.model import CUT_COLOUR, CUT_WIDTH
from convert.cutting.sheet import CUTS
from convert.proof.against_block import FINE, check_pieces
from convert.proof.against_sheet import LIMIT, Record, gaps_between, read_table
from convert.proof.model import Proof, UnreadableError
from convert.proof.outlines import flattened, table_of
from convert.proof.read_pdf import read_pdf, says_actual_size

if TYPE_CHECKING:
    from convert.booklet.model import Booklet, Page
    from convert.cutting.parts import CutChoices
    from convert.profile import Profile
    from convert.proof.model import ReadFile, ReadPath
    from convert.proof.outlines import Table

CUT_LAYER = f"{CUT_COLOUR} {CUT_WIDTH:.2f}"
SQUARES = (25.4, 50.0)
BAR = 150.0
ASIDE = 1.9
"""A check square is to be measured: nothing is cut nearer to it, mm."""


def prove_booklet(
    data: bytes, booklet: Booklet, profile: Profile, choices: CutChoices, *, file: str = ""
) -> Proof:
    """Read a booklet back and compare it with the pages, the sheets and the blocks it was made from.

    `profile` and `choices` are those by which its sheets were laid out; `file` is named in findings.
    """
    record = Record(file)
    try:
        pages = read_pdf(data)
    except UnreadableError as error:
        record.fail("PROOF-001", f"it can't be read back: {error}")
        return Proof(record.checked, record.largest, tuple(record.findings))
    record.checked += 2
    if not says_actual_size(data):
        record.fail("PROOF-030", "it does not ask for printing at actual size")
    if len(pages) != len(booklet.pages):
        record.fail("PROOF-031", f"it has {len(pages)} pages instead of {len(booklet.pages)}")
    else:
        for number, (found, page) in enumerate(zip(pages, booklet.pages, strict=True), start=1):
            _check_page(found, page, number, record)
            if page.sheet is not None:
                _check_sheet(found, page, number, profile, choices, record)
    return Proof(record.checked, record.largest, tuple(record.findings))


def _check_page(found: ReadFile, page: Page, number: int, record: Record) -> None:
    record.checked += 1
    width, height = found.page or (0.0, 0.0)
    off = max(abs(width - page.width), abs(height - page.height))
    # Pages are written to a ten-thousandth of a point.
    if off > LIMIT:
        what = (
            f"page {number} is {width:.4f} x {height:.4f} mm instead of {page.width:.4f} x {page.height:.4f}"
        )
        record.fail("PROOF-031", what, off)


def _check_sheet(
    found: ReadFile, page: Page, number: int, profile: Profile, choices: CutChoices, record: Record
) -> None:
    sheet, block = page.sheet, page.block
    if sheet is None or block is None:
        return
    square = _check_lengths(found, number, record)
    cuts = tuple(stroke for stroke in sheet.strokes if stroke.purpose in CUTS)
    paths = tuple(path for path in found.paths if path.layer == CUT_LAYER)
    record.checked += 1
    if len(paths) != len(cuts) or any(
        path.closed != stroke.chain.closed for path, stroke in zip(paths, cuts, strict=False)
    ):
        record.fail("PROOF-032", f"page {number} has {len(paths)} cuts instead of {len(cuts)}")
        return
    if not cuts:
        return
    table = read_table(replace(found, paths=paths))
    off, _ = gaps_between(table_of([stroke.chain for stroke in cuts]), table)
    record.checked += len(off)
    record.measure(float(off.max()))
    for path in np.flatnonzero(off > LIMIT).tolist():
        what = f"cut {path + 1} on page {number} is {off[path]:.6f} mm away from where it belongs"
        record.fail("PROOF-032", what, float(off[path]))
    check_pieces(table, replace(sheet, strokes=cuts), block, replace(profile, gap=page.gap), choices, record)
    if square is not None:
        _check_clear(square, table, number, record)


def _check_lengths(found: ReadFile, number: int, record: Record) -> ReadPath | None:
    """Check that both squares and the bar are on a page, of their true lengths; return the largest square."""
    square = None
    for side in SQUARES:
        record.checked += 1
        square = next((path for path in found.paths if _is_square(path, side)), None)
        if square is None:
            record.fail("PROOF-033", f"page {number} has no check square of {side:g} mm")
    record.checked += 1
    if not any(
        len(path.points) == 2 and abs(path.points[1] - path.points[0] - 1j * BAR) < LIMIT
        for path in found.paths
    ):
        record.fail("PROOF-033", f"page {number} has no upright bar of {BAR:g} mm")
    return square


def _check_clear(square: ReadPath, cuts: Table, number: int, record: Record) -> None:
    """Check that no cut comes nearer to the large check square than ASIDE."""
    record.checked += cuts.count
    inside = shapely.Polygon(np.column_stack((square.points.real, square.points.imag)))
    rings = [np.column_stack((z.real, z.imag)) for z in flattened(cuts, FINE)]
    # An outline of fewer than three points has no inside; that it is none is found elsewhere.
    shapes = np.array([shapely.Polygon(r) if len(r) > 2 else shapely.LineString(r[[0, -1]]) for r in rings])
    for cut, apart in enumerate(shapely.distance(inside, shapes).tolist(), start=1):
        if apart < ASIDE:
            what = f"cut {cut} on page {number} is {apart:.4f} mm away from the check square"
            record.fail("PROOF-034", what, apart)


def _is_square(path: ReadPath, side: float) -> bool:
    if len(path.points) != 4 or not path.closed or path.sweep.any():
        return False
    corners = side * np.array([0.0, 1.0, 1.0 + 1.0j, 1.0j])
    return bool(np.abs(path.points - path.points[0] - corners).max() < LIMIT)
