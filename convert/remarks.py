"""What a person should read about one drawing in several sizes, each thing said once.

The block is checked at every size, because the same drawing may be easy at one and hard at another.
Most of what is found holds at several sizes with other numbers; it is one thing to say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from convert.errors import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from convert.errors import Finding

    Key = tuple[str, float | None, float | None, str]

_RANK = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings without those that an earlier one equals."""
    return tuple(dict.fromkeys(findings))


def together(sizes: Sequence[tuple[str, Sequence[Finding]]]) -> tuple[Finding, ...]:
    """Return the findings of all sizes (name, findings; smallest size first), each thing once.

    Findings with one code and place are one thing. Where it holds at some sizes only, or in other
    words at each, those of the smallest size are used, and the sizes are named.
    """
    things: dict[Key, dict[str, Finding]] = {}
    for name, findings in sizes:
        for finding in findings:
            things.setdefault(_key(finding), {}).setdefault(name, finding)
    return tuple(_said(by_size, len(sizes)) for by_size in things.values())


def gathered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return every error, and of each other kind the first finding only, which says how many there are.

    One kind is one code in one file. What is at stake comes first: errors, warnings, then notes.
    """
    kinds: dict[tuple[str, str | None], list[Finding]] = {}
    errors = []
    for finding in findings:
        if finding.severity is Severity.ERROR:
            errors.append(finding)
        else:
            kinds.setdefault((finding.code, finding.place.file), []).append(finding)
    # The gravest of a kind speaks for it; of equally grave ones the first.
    firsts = [min(kind, key=lambda finding: _RANK[finding.severity]) for kind in kinds.values()]
    told = [
        replace(first, what=f"{first.what}, and {len(kind) - 1} more like it") if len(kind) > 1 else first
        for first, kind in zip(firsts, kinds.values(), strict=True)
    ]
    return (*errors, *sorted(told, key=lambda finding: _RANK[finding.severity]))


def _key(finding: Finding) -> Key:
    """Return what makes two findings one thing; one without a place is known by its words."""
    at = finding.place.at
    if at is None:
        return finding.code, None, None, finding.what
    # To the hundredth of a millimetre, and without a minus zero: a place is computed at each size.
    return finding.code, round(at[0], 2) + 0.0, round(at[1], 2) + 0.0, ""


def _said(by_size: dict[str, Finding], sizes: int) -> Finding:
    first, *others = by_size.values()
    names = list(by_size)
    if any(other.what != first.what for other in others):
        words = f"size {names[0]}, much the same at {_list(names[1:])}"
    elif len(names) == sizes:
        return first
    else:
        words = f"size{'s' if others else ''} {_list(names)}"
    return replace(first, what=f"{words}: {first.what}")


def _list(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
