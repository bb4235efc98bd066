"""A strict small reader for the polylines of R2000, for layers on which nothing is cut.

A sheet has thousands of letters' strokes, which a general reader of the format takes long for. What is
cut, and the document itself, are left to the general reader. Whatever is not known here is an error.

*Source*: DXF reference, LWPOLYLINE: 5 handle, 330 owner, 100 subclass markers, 8 layer, 90 number of
vertices, 70 flags (1 closed), then for each vertex 10 x, 20 y, 42 bulge (0 if left out).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.proof.model import ReadPath, UnreadableError

if TYPE_CHECKING:
    from collections.abc import Collection

HEAD = "  0\nLWPOLYLINE\n"
ENTITY = "  0\n"
_CODES = ["  5", "330", "100", "  8", "100", " 90", " 70"]
_CLASSES = ("AcDbEntity", "AcDbPolyline")
_FIRST = 14
"""The line on which the first vertex begins."""


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """What was taken out of a file: `rest` is the file without it.

    `paths` has a path for each polyline that was taken, in file units, and None for each that was left.
    `handles` and `owners` are those of the polylines taken.
    """

    rest: str
    paths: tuple[ReadPath | None, ...]
    handles: tuple[str, ...]
    owners: frozenset[str]


def take_polylines(text: str, layers: Collection[str]) -> Taken:
    """Take the polylines on some layers out of a DXF text.

    *Errors*: UnreadableError when one of them is written in another way than ours.
    """
    first, *others = text.split(HEAD)
    rest = [first]
    found: list[list[str] | None] = []
    for other in others:
        body, mark, tail = other.partition(ENTITY)
        lines = body.split("\n")
        if len(lines) > _FIRST and lines[7] in layers:
            found.append(lines)
            rest.append(mark + tail)
        else:
            found.append(None)
            rest.append(HEAD + other)
    taken = [lines for lines in found if lines is not None]
    try:
        paths = iter(_paths(taken))
    except ValueError as error:
        raise UnreadableError(f"it holds a polyline with what is no number: {error}") from error
    return Taken(
        "".join(rest),
        tuple(None if lines is None else next(paths) for lines in found),
        tuple(lines[1] for lines in taken),
        frozenset(lines[3] for lines in taken),
    )


def _paths(records: list[list[str]]) -> list[ReadPath]:
    codes: list[str] = []
    values: list[str] = []
    sizes = []
    for lines in records:
        if len(lines) % 2 == 0 or lines[:_FIRST:2] != _CODES or (lines[5], lines[9]) != _CLASSES:
            raise UnreadableError("it holds a polyline that is not written as ours are")
        codes += lines[_FIRST:-1:2]
        values += lines[_FIRST + 1 :: 2]
        sizes.append((int(lines[11]), lines[13], lines[7]))
    code = np.array(codes, dtype="U3")
    number = np.array(values, dtype=np.float64)
    owner = np.repeat(np.arange(len(records)), [(len(lines) - 1 - _FIRST) // 2 for lines in records])
    starts = np.flatnonzero(code == " 10")
    bulges = np.flatnonzero(code == " 42")
    if (
        2 * len(starts) + len(bulges) != len(code)
        or not (code[starts + 1] == " 20").all()
        or not (code[bulges - 1] == " 20").all()
        or np.bincount(owner[starts], minlength=len(records)).tolist() != [size for size, _, _ in sizes]
    ):
        raise UnreadableError("it holds a polyline with other numbers than places and bulges")
    points = number[starts] + 1j * number[starts + 1]
    bulge = np.zeros(len(starts))
    bulge[np.searchsorted(starts, bulges) - 1] = number[bulges]
    sweep = 4.0 * np.arctan(bulge)
    paths, begin = [], 0
    for size, flag, layer in sizes:
        if flag not in {"0", "1"} or size < 1:
            raise UnreadableError(f"it holds a polyline of {size} vertices with the flags {flag}")
        end, closed = begin + size, flag == "1"
        paths.append(ReadPath(points[begin:end], sweep[begin : end if closed else end - 1], closed, layer))
        begin = end
    return paths
