"""The last step before a sheet is written: what its machine asks for."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from convert.cutting.common import saved_by_sharing
from convert.cutting.die import checked_for_die
from convert.cutting.ends import with_ends
from convert.cutting.order import cut_order, in_cutting_order, work_of
from convert.profile import Tool

if TYPE_CHECKING:
    from convert.cutting.order import Work
    from convert.cutting.sheet import Sheet
    from convert.profile import Profile


def for_machine(sheet: Sheet, profile: Profile) -> Sheet:
    """Return the sheet ready to be written.

    For a machine that follows lines it is in cutting order, and its cuts end as the profile says; for a
    die maker it is checked and nicks are marked; for a person with scissors it is as it was.

    *Errors*: OutputError, as for `checked_for_die`.
    """
    if profile.tool is Tool.DIE:
        return checked_for_die(sheet, profile)
    if not profile.by_machine:
        return sheet
    ordered, work = in_cutting_order(sheet, cut_order(profile, sheet))
    ready = with_ends(ordered, profile)
    saved = saved_by_sharing(ready, work.shared, profile)
    return replace(ready, findings=(*ready.findings, saved)) if saved else ready


def sheet_work(sheet: Sheet, profile: Profile) -> Work:
    """Return what a sheet takes to make with the machine of `profile`."""
    return work_of(sheet, cut_order(profile, sheet).home if profile.by_machine else None)
