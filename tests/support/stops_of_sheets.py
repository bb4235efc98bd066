"""The stops of real sheets: what a machine has to visit when it cuts a fixture."""

import numpy as np

from convert.block import make_block
from convert.block.scale import scaled
from convert.cutting.assembled import assembled_sheet
from convert.cutting.order import cut_order, in_cutting_order
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import CUTS, Purpose
from convert.errors import PiecewrightError
from convert.profile import load_profile
from convert.reader import read_drawing

WIDTH = 152.4


def of_drawing(path, profile_name, blocks=1):
    """Yield (sheet's name, (entry, leave, home, fixed)) for the sheets of a drawing made 6 in wide."""
    profile = load_profile(profile_name)
    try:
        block = make_block(read_drawing(path))
        block = scaled(block, WIDTH / block.width)
        sheets = [assembled_sheet(block, profile), *piece_sheets(block, profile, blocks=blocks)]
    except PiecewrightError:
        return  # some fixtures are there to fail
    for sheet in sheets:
        order = cut_order(profile, sheet)
        done, _ = in_cutting_order(sheet, order)
        yield sheet.name, stops(done, order.home)


def stops(sheet, home):
    """Return entry, leave, home and fixed of what is cut before a whole block's outside."""
    groups = {}
    for number, stroke in enumerate(sheet.strokes):
        if stroke.purpose in CUTS and (stroke.copy >= 0 or stroke.purpose is not Purpose.OUTER):
            groups.setdefault(stroke.copy if stroke.copy >= 0 else -1 - number, []).append(stroke.chain)
    entry = np.array([group[0].points[0] for group in groups.values()]).reshape(-1, 2)
    leave = [chain.points[0 if chain.closed else -1] for *_, chain in groups.values()]
    fixed = np.array([len(group) > 1 for group in groups.values()], dtype=bool)
    return entry, np.array(leave).reshape(-1, 2), home, fixed
