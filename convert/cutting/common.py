"""Common lines: where pieces lie edge to edge, each shared line is cut once.

It saves as much cutting as is shared, and costs what kerf takes: a shared cut can't be moved to the
waste side, since there is none. For papers that may do; a template whose edge a pencil or a blade
follows for years needs edges of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.cutting.sheet import Product, Purpose
from convert.errors import Finding, Severity, UsageError
from convert.profile import Tool
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.sheet import Sheet
    from convert.profile import Profile


def refuse_shared_tools(products: Sequence[Product]) -> None:
    """Refuse to lay anything but papers edge to edge.

    *Errors*: UsageError (CUT-061) when papers are not among what is cut.
    """
    if Product.FINISHED in products:
        return
    if Product.WINDOW in products:
        what = (
            "window templates can't be cut edge to edge: neighbours would share cuts, and their rims overlap"
        )
    else:
        what = "cloth shapes can't be cut edge to edge: their allowances overlap"
    advice = "Leave --arrange assembled out, or add --cut finished for the whole block of papers"
    raise UsageError.because("CUT-061", what, advice)


def saved_by_sharing(sheet: Sheet, shared: float, profile: Profile) -> Finding | None:
    """Return the finding that says what is saved on a sheet, None where nothing is shared.

    `shared` is the length (mm) of the shared cuts. What a kerf costs there is said by CUT-017.
    """
    lines = sum(stroke.purpose is Purpose.SEAM for stroke in sheet.strokes)
    if not lines or profile.tool is not Tool.LASER:
        return None
    return Finding(
        "CUT-060",
        Severity.NOTE,
        f"on sheet {sheet.name} neighbours share {lines} cuts: each is made once, which saves "
        f"{format_mm(shared, digits=0)} of cutting",
        value=shared,
    )
