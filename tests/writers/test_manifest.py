"""The manifest: every fixed key, true numbers, a schema that it obeys, the same bytes every time."""

import json
from dataclasses import replace
from math import pi

import jsonschema
import pytest
from hand_blocks import ALL, compass_flower, hand_block, kite_pair, one_circle
from hand_profiles import mat

from convert.block.edges import edge_lengths
from convert.cutting.assembled import assembled_sheet
from convert.cutting.machine import sheet_work
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets, sheet_yield
from convert.cutting.sheet import Product
from convert.errors import Finding, Place, Severity
from convert.proof import Proof
from convert.writers.manifest import (
    MadeSize,
    WrittenSheet,
    json_bytes,
    manifest,
    manifest_schema,
)

SOURCE = ("drawing.svg", "0" * 64)
OPTIONS = {"sizes": [{"name": "medium", "length": 152.4}], "facing": "back", "formats": ["svg", "dxf"]}


def _manifest(block, at_size=None, blocks=2, proof=None):
    profile = mat()
    block_there = at_size or block
    sheets = (assembled_sheet(block_there, profile), *piece_sheets(block_there, profile, blocks=blocks))
    written = tuple(
        WrittenSheet(
            s, profile.name, (f"medium/{s.name}.svg", f"medium/{s.name}.dxf"), sheet_work(s, profile)
        )
        for s in sheets
    )
    size = MadeSize("medium", block_there, sheet_yield(block_there, profile), written)
    return json_bytes(manifest(SOURCE, OPTIONS, block, [size], proof or Proof(12, 3.4e-7, ())))


def _validate(value):
    schema = manifest_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(value)


@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("product", Product)
def test_only_papers_count_as_copies(make, product):
    """A sheet says which product it holds and how many of each shape; only papers are copies of pieces."""
    block, profile = make(), mat()
    choices = CutChoices((product,), 6.35)
    sheets = piece_sheets(block, profile, blocks=2, product=product, choices=choices)
    written = tuple(
        WrittenSheet(s, profile.name, (f"medium/{s.name}.svg",), sheet_work(s, profile)) for s in sheets
    )
    size = MadeSize("medium", block, sheet_yield(block, profile), written)
    value = json.loads(json_bytes(manifest(SOURCE, OPTIONS, block, [size], Proof(1, 0.0, ()))))
    _validate(value)
    made = value["sizes"][0]["sheets"]
    assert {sheet["product"] for sheet in made} == {product.value}
    copies, shapes = ({}, {})
    for sheet in made:
        for name, total in (("copies", copies), ("shapes", shapes)):
            for label, count in sheet[name].items():
                total[label] = total.get(label, 0) + count
    every = {t.label: 2 * t.count for t in block.templates if t.count}
    every |= {f"{t.label} reversed": 2 * t.reversed_count for t in block.templates if t.reversed_count}
    assert copies == (every if product is Product.FINISHED else {})
    assert shapes == (
        dict.fromkeys((t.label for t in block.templates), 1) if product is Product.WINDOW else every
    )


@pytest.mark.parametrize("make", ALL)
def test_manifest_obeys_the_schema(make):
    """Every manifest is valid by the JSON Schema (draft 2020-12) that lies in the package."""
    _validate(json.loads(_manifest(make())))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda m: m.pop("proof"),
        lambda m: m["source"].update(sha256="abc"),
        lambda m: m["block"]["pieces"][0].update(label="first"),
        lambda m: m["sizes"][0]["sheets"][0]["copies"].update({"A flipped": 1}),
        lambda m: m["sizes"][0]["yield"].update(sheets_per_block=0),
        lambda m: m["block"]["templates"][0]["edges"][0].update(kind="bent"),
        lambda m: m["sizes"][0]["sheets"][0].update(files=["/somewhere/else.svg"]),
    ],
)
def test_schema_refuses_what_is_wrong(spoil):
    """The schema is strict enough to notice a missing key or a wrong value."""
    value = json.loads(_manifest(kite_pair()))
    spoil(value)
    with pytest.raises(jsonschema.ValidationError):
        _validate(value)


def test_fixed_keys_and_numbers():
    """Counts, sizes and copies are those of the block and its sheets."""
    value = json.loads(_manifest(kite_pair()))
    assert list(value) == ["schema", "source", "options", "block", "repairs", "warnings", "sizes", "proof"]
    assert value["options"] == OPTIONS
    assert (value["block"]["width"], value["block"]["height"]) == (100.0, 85.0)
    assert {p["label"]: p["template"] for p in value["block"]["pieces"]} == {
        "A1": "A", "B1": "B", "C1": "C", "C2": "C"
    }  # fmt: skip
    c = next(t for t in value["block"]["templates"] if t["label"] == "C")
    assert (c["count"], c["reversed"]) == (1, 1)
    assert sum(c["corners"]) == pytest.approx(180.0)
    assert sum(e["share"] for e in c["edges"]) == pytest.approx(1.0)
    (size,) = value["sizes"]
    whole, apart = size["sheets"]
    assert whole["copies"] == {"A": 1, "B": 1, "C": 1, "C reversed": 1}
    assert apart["copies"] == {"A": 2, "B": 2, "C": 2, "C reversed": 2}
    assert apart["blocks"] == 2
    edges = {t["label"]: t["edges"] for t in size["templates"]}
    assert edges["A"] == [50.0] * 4
    a, b, c = (t["perimeter"] for t in size["templates"])
    assert apart["cut_length"] == pytest.approx(2 * (a + b + 2 * c))
    assert size["yield"]["sheet"] == "mat-12x12"
    assert value["proof"] == {"passed": True, "checked": 12, "largest_deviation": 3.4e-07, "findings": []}


def test_edges_run_from_corner_to_corner():
    """Smooth parts are one edge, a smooth change from straight to curved ends one, a circle has one."""
    petal = next(t for t in compass_flower().templates if len(t.outline) == 2)
    assert edge_lengths(petal)[1] == pytest.approx([60 * pi / 3] * 2)
    starts, long = edge_lengths(one_circle().templates[0])
    assert (starts, list(long)) == ([0], pytest.approx([40 * pi]))
    stadium = hand_block(
        "stadium",
        [(0, 0), (30, 0), (30, 20), (0, 20)],
        [[(0, 0.0), (1, 1.0), (2, 0.0), (3, 1.0)]],
        own_mirror=True,
    )
    value = json.loads(_manifest(stadium))["block"]["templates"][0]
    assert [e["kind"] for e in value["edges"]] == ["line", "curve", "line", "curve"]
    assert value["corners"] == pytest.approx([180.0] * 4)


def test_findings_are_placed_in_the_block():
    """A finding's place on the page is listed from the block's lower left corner, y up, at each size."""
    remark = Finding(
        "BLOCK-007", Severity.WARNING, "a sharp corner", "Use stiff card", Place(at=(30.0, 170.0)), 21.0
    )
    repair = Finding(
        "BLOCK-001", Severity.NOTE, "a gap was closed", place=Place(at=(10.0, 190.0)), value=0.05
    )
    drawn = replace(
        kite_pair(), origin=(10.0, 10.0), page_height=200.0, warnings=(remark,), repairs=(repair,)
    )
    doubled = replace(kite_pair(100.0), origin=(10.0, 10.0), page_height=200.0, scale=2.0, warnings=(remark,))
    value = json.loads(_manifest(drawn, doubled, blocks=1))
    _validate(value)
    (warning,) = value["warnings"]
    assert warning == {
        "code": "BLOCK-007", "at": [20.0, 20.0], "value": 21.0, "what": "a sharp corner",
        "advice": "Use stiff card",
    }  # fmt: skip
    assert value["repairs"] == [
        {"code": "BLOCK-001", "at": [0.0, 0.0], "size": 0.05, "what": "a gap was closed"}
    ]
    assert value["sizes"][0]["warnings"][0]["at"] == [40.0, 40.0]
    assert value["sizes"][0]["scale"] == 2.0


def test_failed_proof_is_stated():
    """A proof with findings is stated as not passed, with each finding as a line."""
    failed = Proof(3, 0.5, (Finding("PROOF-010", Severity.ERROR, "too large", place=Place(file="a.svg")),))
    value = json.loads(_manifest(kite_pair(), proof=failed))
    _validate(value)
    assert value["proof"]["passed"] is False
    assert value["proof"]["findings"] == ["a.svg: too large."]


def test_same_block_same_bytes():
    """The same block gives the same bytes; places are on one line each; the last line is ended."""
    first = _manifest(compass_flower())
    assert first == _manifest(compass_flower())
    assert first.endswith(b"}\n")
    assert b'"at": [' in first
    assert b"NaN" not in first
    assert b"-0.0," not in first
