"""Reads every written file back and compares it with the Sheet and the Block it was made from.

The readers and the measures in here share no code with the writers, the reader of drawings or
`geometry.measure`: a slip would have to be made twice, differently, to go unseen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.cutting.parts import CutChoices
from convert.cutting.sheet import CUTS, Arrangement
from convert.proof.against_block import check_counts, check_pieces, check_whole
from convert.proof.against_sheet import Record, check_sheet
from convert.proof.inside import check_drawn
from convert.proof.joins import closed_again
from convert.proof.model import Proof, ReadFile, UnreadableError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.cutting.sheet import Sheet
    from convert.profile import Profile

__all__ = ["Proof", "prove", "prove_set"]


def prove(
    data: bytes,
    kind: str,
    sheet: Sheet,
    block: Block,
    profile: Profile,
    *,
    choices: CutChoices | None = None,
    file: str = "",
) -> Proof:
    """Read one file back and compare it with its sheet, its block and what was asked to be cut.

    `kind` is "svg" or "dxf"; `block` is the block at the sheet's size; `choices` say what was asked
    for (papers alone, if left out); `file` is named in findings.
    """
    record = Record(file)
    try:
        content = _read(data, kind, profile)
    except UnreadableError as error:
        record.fail("PROOF-001", f"it can't be read back: {error}")
    else:
        found = check_sheet(content, sheet, profile, record)
        if found is not None:
            found, whole = closed_again(found, sheet, record)
            if sheet.arrangement is Arrangement.PIECES:
                check_pieces(found, whole, block, profile, choices or CutChoices(), record)
            else:
                check_whole(found, whole, block, profile.kerf, record)
            if not record.findings:
                # What lies wrong itself has been told; inside wrong outlines nothing can be right.
                check_drawn(found, whole, block, record)
    return Proof(record.checked, record.largest, tuple(record.findings))


def prove_set(
    files: Sequence[tuple[bytes, str]],
    kind: str,
    sheets: Sequence[Sheet],
    block: Block,
    profile: Profile,
    choices: CutChoices | None = None,
) -> Proof:
    """Read the files (contents and name) of one arrangement or product back, and check them as a set.

    Beside what `prove` does, the copies of each template are counted over all sheets.
    """
    proofs = [
        prove(data, kind, sheet, block, profile, choices=choices, file=name)
        for (data, name), sheet in zip(files, sheets, strict=True)
    ]
    record = Record("")
    if sheets and sheets[0].arrangement is Arrangement.PIECES:
        check_counts(sheets, block, record)
    return Proof.together((*proofs, Proof(record.checked, record.largest, tuple(record.findings))))


def _read(data: bytes, kind: str, profile: Profile) -> ReadFile:
    if kind == "svg":
        from convert.proof.read_svg import read_svg

        return read_svg(data, profile.svg.units_per_inch)
    from convert.proof.read_dxf import read_dxf

    layers = {purpose: layer.name for purpose, layer in profile.layers.items()}
    cut = {layers[purpose] for purpose in CUTS}
    return read_dxf(data, profile.dxf, set(layers.values()) - cut)
