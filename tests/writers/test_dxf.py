"""DXF files: polylines with bulges, unit, layers, and nothing that changes between runs."""

import io
import re
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
from ezdxf.lldxf.encoding import decode_dxf_unicode
from hand_blocks import ALL, compass_flower, one_circle, pinwheel
from hand_profiles import mat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Lettering, Purpose, Stroke
from convert.errors import OutputError
from convert.geometry.chain import Chain
from convert.writers.dxf import dxf_bytes, nearest_colour_number


def _read(data):
    return ezdxf.read(io.StringIO(data.decode("cp1252")))


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_same_sheet_same_bytes(version):
    """The same sheet is written as the same bytes every time, and the library's settings are left alone."""
    profile = mat(dxf={"version": version})
    sheet = assembled_sheet(compass_flower(), profile)
    assert dxf_bytes(sheet, profile) == dxf_bytes(sheet, profile)
    assert not ezdxf.options.write_fixed_meta_data_for_testing


@pytest.mark.parametrize(
    ("unit", "number", "metric", "size"), [("mm", 4, 1, 80.0), ("in", 1, 0, 80.0 / 25.4)]
)
def test_unit_is_in_the_header(unit, number, metric, size):
    """$INSUNITS and $MEASUREMENT state the unit that the coordinates are in (DXF reference, header)."""
    profile = mat(dxf={"unit": unit, "digits": 7})
    document = _read(dxf_bytes(assembled_sheet(pinwheel(), profile), profile))
    assert document.header["$INSUNITS"] == number
    assert document.header["$MEASUREMENT"] == metric
    outline = next(e for e in document.modelspace() if e.dxf.layer == profile.layers[Purpose.OUTER].name)
    x = np.array([p[0] for p in outline.get_points("xy")])
    assert x.max() - x.min() == pytest.approx(size, abs=1e-6)


@pytest.mark.parametrize("version", ["R2000", "R12"])
@pytest.mark.parametrize("make", ALL)
def test_strokes_are_polylines_with_bulges(make, version):
    """Each stroke is one polyline on its layer with the sheet's vertices and bulges; the audit is clean."""
    profile = mat(dxf={"version": version})
    for sheet in (assembled_sheet(make(), profile), *piece_sheets(make(), profile)):
        document = _read(dxf_bytes(sheet, profile))
        audit = document.audit()
        assert not audit.errors
        assert not audit.fixes
        kind = "POLYLINE" if version == "R12" else "LWPOLYLINE"
        lines = document.modelspace().query(kind)
        assert len(lines) == len(sheet.strokes)
        for line, stroke in zip(lines, sheet.strokes, strict=True):
            if version == "R12":
                rows = np.array(
                    [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0)) for v in line.vertices]
                )
                assert line.is_closed == stroke.chain.closed
            else:
                rows = np.array(line.get_points("xyb"))
                assert line.closed == stroke.chain.closed
            assert line.dxf.layer == profile.layers[stroke.purpose].name
            assert np.abs(rows[:, :2] - stroke.chain.points).max() <= 0.5001e-6
            assert np.abs(rows[: len(stroke.chain.bulge), 2] - stroke.chain.bulge).max() <= 1e-7


def test_circle_is_two_half_circles():
    """A circle is a closed polyline of two vertices with bulge 1 (DXF reference: a half circle)."""
    profile = mat()
    document = _read(dxf_bytes(piece_sheets(one_circle(), profile)[0], profile))
    outline = next(e for e in document.modelspace() if e.dxf.layer == profile.layers[Purpose.OUTER].name)
    assert [p[2] for p in outline.get_points("xyb")] == [1.0, 1.0]


def test_extents_include_what_arcs_reach():
    """$EXTMIN and $EXTMAX enclose the arcs, not only the vertices."""
    profile = mat()
    sheet = piece_sheets(one_circle(), profile)[0]
    only = replace(
        sheet, strokes=tuple(s for s in sheet.strokes if s.purpose is Purpose.OUTER), letterings=()
    )
    header = _read(dxf_bytes(only, profile)).header
    size = np.subtract(header["$EXTMAX"], header["$EXTMIN"])[:2]
    assert size == pytest.approx([40.0, 40.0], abs=2e-6)


def test_no_exponents():
    """Tiny coordinates and bulges are written out, and a label that looks like a number stays as it is."""
    profile = mat(dxf={"digits": 7})
    chain = Chain(np.array([[0.0, 2e-6], [100.0, 0.0], [50.0, 80.0]]), [3e-5, 0.0, 0.0])
    words = Lettering("1e-05", (10.0, 10.0), 3.0, 0.0, Purpose.LETTER)
    sheet = replace(
        assembled_sheet(pinwheel(), profile), strokes=(Stroke(chain, Purpose.OUTER, 0),), letterings=(words,)
    )
    lines = dxf_bytes(sheet, profile).decode("cp1252").split("\n")
    with_exponent = [line for line in lines if re.fullmatch(r"-?[\d.]+e-\d+", line)]
    assert with_exponent == ["1e-05"]
    assert "0.000002" in lines
    assert "0.00003" in lines


def test_words_survive_odd_signs():
    """Signs that DXF gives a meaning to, and letters outside its code page, read back as they were."""
    profile = mat()
    odd = "50%% off ^J \N{LATIN SMALL LETTER Z WITH DOT ABOVE} x"
    words = Lettering(odd, (10.0, 10.0), 3.0, 0.0, Purpose.LETTER)
    sheet = replace(assembled_sheet(pinwheel(), profile), letterings=(words,))
    text = _read(dxf_bytes(sheet, profile)).modelspace().query("TEXT")[0]
    assert decode_dxf_unicode(text.plain_text()) == odd


def test_unknown_version_and_unit_are_errors():
    """A version or unit that isn't written is refused in words."""
    sheet = assembled_sheet(pinwheel(), mat())
    with pytest.raises(OutputError, match="version R9"):
        dxf_bytes(sheet, mat(dxf={"version": "R9"}))
    with pytest.raises(OutputError, match="unit ell"):
        dxf_bytes(sheet, mat(dxf={"unit": "ell"}))


def test_layer_colours_are_told_apart():
    """The default layers' colours have palette numbers of their own; black is 7."""
    numbers = [nearest_colour_number(layer.colour) for layer in mat().layers.values()]
    assert len(set(numbers)) == len(numbers)
    assert nearest_colour_number("#000000") == 7
    assert nearest_colour_number("#ff0000") == 1
