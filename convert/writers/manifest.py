"""The manifest: the machine-readable truth of what was made, as JSON.

Lengths in mm, areas in mm², angles in degrees; places are [x, y] in mm from the block's lower left
corner, y up, at the size they are listed under (for `block`, `repairs` and `warnings`: as drawn).
The names of keys are fixed; `manifest.schema.json` describes them all.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import dataclass
from importlib import resources
from math import degrees
from typing import TYPE_CHECKING, Any

from convert.block.edges import edge_lengths
from convert.cutting.sheet import Product

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from convert.block.model import Block, Template
    from convert.cutting.order import Work
    from convert.cutting.rows import Yield
    from convert.cutting.sheet import Sheet
    from convert.errors import Finding
    from convert.proof.model import Proof

SCHEMA = 1
"""Raised when a key changes its meaning."""
DIGITS = 6
"""After the point, for lengths, areas and angles."""
SHARE_DIGITS = 9


@dataclass(frozen=True, slots=True)
class WrittenSheet:
    """A sheet, the profile's name, the files (relative paths with /) that hold it, and the work it takes."""

    sheet: Sheet
    profile: str
    files: tuple[str, ...]
    work: Work


@dataclass(frozen=True, slots=True)
class MadeSize:
    """One finished size: its name, the block at that size, what a sheet yields, and what was written."""

    name: str
    block: Block
    yields: Yield
    sheets: tuple[WrittenSheet, ...]


def json_bytes(values: Mapping[str, Any]) -> bytes:
    """Return a manifest's values as a JSON file, the same values always as the same bytes."""
    text = json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False)
    # Lists of numbers read better on one line. No string holds a line break, so only lists match.
    text = re.sub(r"\[\n\s+([-\d.e+,\s]+?)\n\s+\]", lambda m: "[" + " ".join(m[1].split()) + "]", text)
    return text.encode() + b"\n"


def manifest(
    source: tuple[str, str],
    options: Mapping[str, Any],
    block: Block,
    sizes: Sequence[MadeSize],
    proof: Proof,
) -> dict[str, Any]:
    """Return the manifest as values that JSON can hold.

    `source` is the drawing's file name and SHA-256; `options` everything in force (values that JSON
    can hold); `block` the block as drawn; `proof` the result over all files.
    """
    return {
        "schema": SCHEMA,
        "source": {"name": source[0], "sha256": source[1]},
        "options": dict(options),
        "block": _block(block),
        "repairs": [
            {"code": f.code, "at": _place(f, block), "size": _value(f), "what": f.what} for f in block.repairs
        ],
        "warnings": [_warning(f, block) for f in block.warnings],
        "sizes": [_size(size) for size in sizes],
        "proof": {
            "passed": proof.passed,
            "checked": proof.checked,
            "largest_deviation": _number(proof.largest_deviation, SHARE_DIGITS),
            "findings": [finding.line() for finding in proof.findings],
        },
    }


def manifest_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the manifest."""
    text = resources.files("convert.writers").joinpath("manifest.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def _number(value: float, digits: int = DIGITS) -> float:
    return round(float(value), digits) + 0.0


def _value(finding: Finding) -> float | None:
    return None if finding.value is None else _number(finding.value)


def _place(finding: Finding, block: Block) -> list[float] | None:
    if finding.place.at is None:
        return None
    return [_number(v) for v in block.from_page(*finding.place.at)]


def _warning(finding: Finding, block: Block) -> dict[str, Any]:
    return {
        "code": finding.code,
        "at": _place(finding, block),
        "value": _value(finding),
        "what": finding.what,
        "advice": finding.advice,
    }


def _block(block: Block) -> dict[str, Any]:
    fabrics: dict[int, set[str]] = {}
    for piece in block.pieces:
        fabrics.setdefault(piece.template, set()).update([piece.fabric] if piece.fabric else [])
    return {
        "name": block.name,
        "width": _number(block.width),
        "height": _number(block.height),
        "own_mirror": block.own_mirror,
        "pieces": [
            {
                "label": piece.label,
                "template": block.templates[piece.template].label,
                "reversed": piece.reversed,
                "fabric": piece.fabric,
                "name": piece.name,
                "at": [_number(v) for v in piece.at],
            }
            for piece in block.pieces
        ],
        "templates": [
            {
                "label": template.label,
                "count": template.count,
                "reversed": template.reversed_count,
                "own_mirror": template.own_mirror,
                "holes": len(template.holes),
                "fabrics": sorted(fabrics.get(number, ())),
                **_shape(template),
            }
            for number, template in enumerate(block.templates)
        ],
    }


def _shape(template: Template) -> dict[str, Any]:
    """Return corners and edges, counter-clockwise; `corners[i]` lies where `edges[i]` starts."""
    starts, long = edge_lengths(template)
    curved = template.outline.segments.is_arc
    whole = float(long.sum())
    return {
        "corners": [_number(degrees(template.corners[i])) for i in starts],
        "edges": [
            {"kind": "curve" if curved[i] else "line", "share": _number(edge / whole, SHARE_DIGITS)}
            for i, edge in zip(starts, long.tolist(), strict=True)
        ],
    }


def _size(size: MadeSize) -> dict[str, Any]:
    block = size.block
    return {
        "name": size.name,
        "scale": _number(block.scale, SHARE_DIGITS),
        "width": _number(block.width),
        "height": _number(block.height),
        "templates": [
            {
                "label": template.label,
                "area": _number(template.area),
                "perimeter": _number(template.perimeter),
                "edges": [_number(v) for v in edge_lengths(template)[1]],
            }
            for template in block.templates
        ],
        "yield": {
            "sheet": size.yields.profile,
            "blocks_per_sheet": size.yields.blocks_per_sheet,
            "sheets_per_block": size.yields.sheets_per_block,
            **({} if size.yields.area_bound is None else {"area_bound": size.yields.area_bound}),
        },
        "warnings": [_warning(f, block) for f in block.warnings],
        "sheets": [_sheet(written, block) for written in size.sheets],
    }


def _sheet(written: WrittenSheet, block: Block) -> dict[str, Any]:
    sheet = written.sheet
    found = Counter((copy.template, copy.reversed) for copy in sheet.copies)
    shapes = {
        block.templates[template].label + (" reversed" if is_reversed else ""): count
        for (template, is_reversed), count in sorted(found.items())
    }
    return {
        "files": list(written.files),
        "profile": written.profile,
        "arrangement": sheet.arrangement.value,
        "facing": sheet.facing.value,
        "title": sheet.title,
        "number": sheet.number,
        "of": sheet.of,
        "width": _number(sheet.width),
        "height": _number(sheet.height),
        "blocks": sheet.blocks,
        "product": sheet.product.value,
        # Papers alone make pieces: whoever adds copies up must not count cloth and tools as well.
        "copies": shapes if sheet.product is Product.FINISHED else {},
        "shapes": shapes,
        **_work(written.work),
        "warnings": [_warning(f, block) for f in sheet.findings],
    }


def _work(work: Work) -> dict[str, Any]:
    """Return lengths in mm; what holds for machines only, or for curves only, is null elsewhere."""
    return {
        "cut_length": _number(work.cut_length),
        "draw_length": _number(work.draw_length),
        "shared_length": _number(work.shared),
        "smallest_bend": None if work.smallest_bend is None else _number(work.smallest_bend),
        "travel": None if work.travel is None else _number(work.travel),
        "pierces": work.pierces,
    }
