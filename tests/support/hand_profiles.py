"""The 12 by 12 inch mat, and variations on it, for tests that need a profile."""

from dataclasses import replace

from convert.profile import load_profile


def mat(**changes):
    """Return the 12 by 12 inch mat; `changes` replace fields, `svg` and `dxf` may be dicts of changes."""
    profile = load_profile("mat-12x12")
    for name in ("svg", "dxf"):
        if isinstance(changes.get(name), dict):
            changes[name] = replace(getattr(profile, name), **changes[name])
    return replace(profile, **changes)
