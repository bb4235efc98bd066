"""What the proof finds in a file, and what it concludes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from convert.errors import Finding
    from convert.proof.outlines import Floats, Points


class UnreadableError(Exception):
    """A written file holds something that its writer never writes; the message says what."""


@dataclass(frozen=True, slots=True, eq=False)
class ReadPath:
    """One path: `points` (n,) complex, mm, y up; `sweep` (n,) for a closed path, (n - 1,) for an open one."""

    points: Points
    sweep: Floats
    closed: bool
    layer: str


@dataclass(frozen=True, slots=True)
class ReadText:
    """One line of text: its middle, the height of its capitals (mm) and its turn (radians)."""

    text: str
    at: complex
    height: float
    angle_rad: float
    layer: str


@dataclass(frozen=True, slots=True, eq=False)
class ReadFile:
    """A file, in file order.

    `page` is its width and height in mm, where the format has them; `complaints` are things that a
    general reader of the format objected to; `extents` is the box (left, low, right, high, mm) that
    the file's own header states.
    """

    paths: tuple[ReadPath, ...]
    texts: tuple[ReadText, ...]
    page: tuple[float, float] | None
    complaints: tuple[str, ...] = ()
    extents: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """The result: how many things were compared, and the largest distance (mm) between file and block."""

    checked: int
    largest_deviation: float
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        """True when there is no finding."""
        return not self.findings

    @staticmethod
    def together(proofs: Iterable[Proof]) -> Proof:
        """Return one result for many files."""
        every = tuple(proofs)
        return Proof(
            sum(proof.checked for proof in every),
            max((proof.largest_deviation for proof in every), default=0.0),
            tuple(finding for proof in every for finding in proof.findings),
        )
