"""Cautions: every tool has its own, none names a machine setting, and the README says the same."""

import re
from pathlib import Path

import pytest

from convert.cautions import BY_TOOL, GENERAL, cautions
from convert.profile import Tool

README = Path(__file__).resolve().parent.parent / "README.md"


@pytest.mark.parametrize("tool", Tool)
def test_every_tool(tool):
    """A tool's dangers come first, then what holds for all; both stand in the README word for word."""
    assert cautions(tool) == (BY_TOOL[tool], GENERAL)
    text = " ".join(README.read_text("utf-8").split())
    assert all(words in text for words in cautions(tool))


def test_what_must_be_said():
    """Lasers: no PVC or vinyl or unknown plastics, never alone, exhaust, fire; presses: hands out."""
    laser = BY_TOOL[Tool.LASER]
    for words in ("PVC", "vinyl", "can't name", "alone", "exhaust", "extinguisher"):
        assert words in laser
    assert "hands out" in BY_TOOL[Tool.DIE]
    assert all(words in GENERAL for words in ("manual", "law", "licensed"))


def test_no_machine_settings():
    """No caution holds a number: settings come from the machine and the material."""
    assert not any(re.search(r"\d", words) for words in (*BY_TOOL.values(), GENERAL))
