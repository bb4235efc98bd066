"""How often the sheets of a size are nested: with a gap between papers, without one, or both."""

import pytest
from booklets import drawn, made

from convert.booklet.wanted import Wanted
from convert.cutting import nested as nesting
from convert.cutting.effort import Effort


@pytest.mark.parametrize(
    ("name", "mm", "gaps"),
    [
        # Two sheets a block are the least that area allows, and papers lie on them 2 mm apart.
        ("cosmos", 228.6, [2.0]),
        # Without a gap three blocks might lie on a sheet, with one two.
        ("cosmos", 101.6, [0.0, 2.0]),
        # Straight papers lie side on side.
        ("midwinter", 152.4, [0.0]),
    ],
)
def test_sheets_are_nested_no_oftener_than_may_help(name, mm, gaps, monkeypatch):
    """Papers are laid without a gap only where that might save a sheet."""
    tried = []
    nested = nesting.nested

    def noted(block, profile, *args, **options):
        tried.append(profile.gap)
        return nested(block, profile, *args, **options)

    monkeypatch.setattr(nesting, "nested", noted)
    made(drawn(name), {"one": mm}, Wanted(effort=Effort.QUICK))
    assert tried == gaps
