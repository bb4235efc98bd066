"""Sheets, layers and line widths of the shipped profiles against the standards they follow."""

import re

import pytest

from convert.profile import DEFAULT_LAYERS, load_profile, profile_names

# ISO 216: trimmed sizes of the A series, mm.
ISO_216 = {"a4-card": (210.0, 297.0)}
# ANSI/ASME Y14.1: size A is 8.5 by 11 inches (215.9 by 279.4 mm).
ANSI_Y14_1 = {"letter-card": (215.9, 279.4)}
# Mats and beds are named by their size in inches or millimetres.
NAMED = {"mat-12x12": (304.8, 304.8), "mat-12x24": (304.8, 609.6), "laser-600x400": (600.0, 400.0)}


@pytest.mark.parametrize(("name", "size"), (ISO_216 | ANSI_Y14_1 | NAMED).items())
def test_sheet_sizes(name, size):
    """Each sheet has the standard's size, or the size in its own name, exactly."""
    profile = load_profile(name)
    assert (profile.width, profile.height) == pytest.approx(size, abs=1e-9)


def test_colours_are_the_published_palette():
    """Every layer colour is one of the eight of Okabe and Ito, "Color Universal Design" (2008), each once."""
    palette = {
        "#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7",
    }  # fmt: skip
    colours = [layer.colour for layer in DEFAULT_LAYERS.values()]
    assert set(colours) <= palette
    assert len(set(colours)) == len(colours)


def test_widths_are_iso_128_widths():
    """Every stroke width is one of the line widths of ISO 128, each the last times the root of two."""
    assert {layer.width for layer in DEFAULT_LAYERS.values()} <= {0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0}


@pytest.mark.parametrize("name", profile_names())
def test_layer_names_fit_the_oldest_dxf(name):
    """Layer names keep to the R12 rules: at most 31 of A-Z, 0-9, $, - and _ (DXF reference, symbol names)."""
    for layer in load_profile(name).layers.values():
        assert re.fullmatch(r"[A-Z0-9$_-]{1,31}", layer.name)


def test_die_board_gap():
    """Rules on the die board stand no nearer than 3/32 in (common practice of die makers)."""
    assert load_profile("die-board").gap >= 25.4 * 3 / 32
