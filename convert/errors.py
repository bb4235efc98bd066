"""Findings and errors: what is wrong, where, and what to do.

A *finding* is one remark with a stable code; passes collect findings, and the command line
prints each as one line. An *error* carries one or more findings and stops one drawing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Self


class Severity(Enum):
    """How much a finding matters."""

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is; every part is optional.

    *Units*: `at` is in millimetres on the drawn page as a person sees it: from its top left
    corner, y down, because that is where the designer will look.
    """

    file: str | None = None
    line: int | None = None
    element: str | None = None
    at: tuple[float, float] | None = None

    def describe(self) -> str:
        """Return the element and the point in words, or an empty string."""
        parts = []
        if self.element:
            parts.append(self.element)
        if self.at is not None:
            x, y = (round(v, 2) + 0.0 for v in self.at)  # no minus zero
            parts.append(f"at {x:.2f}, {y:.2f} mm")
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class Finding:
    """One remark about a drawing, a profile or a file.

    `code` is stable (room and number, as in READ-012); `value` is the number that makes the
    remark true (degrees, mm or mm²; the code says which); `what` is a sentence without its full
    stop; `advice` says what to do, or is empty.
    """

    code: str
    severity: Severity
    what: str
    advice: str = ""
    place: Place = field(default_factory=Place)
    value: float | None = None

    def line(self) -> str:
        """Return the finding as one printable line: `<file>:<line>: <what> (<where>). <what to do>`."""
        head = self.place.file or ""
        if head and self.place.line is not None:
            head += f":{self.place.line}"
        where = self.place.describe()
        text = f"{head}: " if head else ""
        text += self.what + (f" ({where})" if where else "") + "."
        if self.advice:
            text += f" {self.advice}" + ("" if self.advice[-1] in ".?!" else ".")
        # File and element names come from outside: control characters would break the one-line promise.
        return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


class PiecewrightError(Exception):
    """Root of the tree. `exit_code` is what the command line ends with."""

    exit_code = 1

    def __init__(self, *findings: Finding) -> None:
        super().__init__("\n".join(f.line() for f in findings))
        self.findings: tuple[Finding, ...] = findings

    @classmethod
    def because(
        cls, code: str, what: str, advice: str = "", *, place: Place | None = None, value: float | None = None
    ) -> Self:
        """Build an error of this class from one finding."""
        return cls(Finding(code, Severity.ERROR, what, advice, place or Place(), value))

    def in_file(self, file: str) -> Self:
        """Return the same error with `file` named wherever no file is named yet."""
        return type(self)(
            *(f if f.place.file else replace(f, place=replace(f.place, file=file)) for f in self.findings)
        )


class UsageError(PiecewrightError):
    """The command was given something that can't be meant (exit code 2)."""

    exit_code = 2


class DrawingError(PiecewrightError):
    """The drawing can't be read or can't be pieced."""


class GeometryError(PiecewrightError):
    """A computation was refused because its result would be wrong."""


class ProfileError(UsageError):
    """A profile or job file says something unknown, impossible or in the wrong unit."""


class OutputError(PiecewrightError):
    """A file can't be written, or must not be replaced."""


class ProofError(PiecewrightError):
    """A written file did not read back as the block it was made from."""


class InternalError(PiecewrightError):
    """A mistake of this program, not of its user."""
