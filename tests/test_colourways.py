"""Colourways files: what is understood, and what is answered to a mistake."""

from pathlib import Path

import pytest

from convert.block import make_block
from convert.colourways import NO_PALETTE, colourways_of, fabrics_of, parse_palette, read_palette
from convert.errors import ProfileError
from convert.reader import read_drawing

FIXTURES = Path(__file__).parents[1] / "fixtures"
GOOD = """
[fabrics]
"#235347" = "forest"

[colourways.midnight]
forest = "#101C3A"
"#e56399" = "#ffffff"
"fabric 4" = "#000000"
"""


@pytest.fixture(scope="module")
def cosmos():
    """Read a flower of four colours."""
    return make_block(read_drawing(FIXTURES / "cosmos.svg"))


def test_fabrics_are_the_colours_by_area(cosmos):
    """The ground is largest, then come the petals; all their areas add up to the block's."""
    fabrics = fabrics_of(cosmos)
    assert [f.colour for f in fabrics] == ["#235347", "#e56399", "#f4a6c6", "#f6c445"]
    assert [f.name for f in fabrics] == ["Fabric 1", "Fabric 2", "Fabric 3", "Fabric 4"]
    assert sum(f.area for f in fabrics) == pytest.approx(cosmos.width * cosmos.height, rel=1e-9)


def test_a_fabric_can_be_named_and_recoloured_by_name_or_colour(cosmos, tmp_path):
    """Names are matched whatever their case; a fabric that is not named keeps its colour."""
    file = tmp_path / "colours.toml"
    file.write_text(GOOD, encoding="utf-8")
    palette = read_palette(file)
    assert [f.name for f in fabrics_of(cosmos, palette)][:2] == ["forest", "Fabric 2"]
    (way,) = colourways_of(cosmos, palette)
    assert way.name == "midnight"
    assert dict(way.colours) == {
        "#235347": "#101c3a",
        "#e56399": "#ffffff",
        "#f4a6c6": "#f4a6c6",
        "#f6c445": "#000000",
    }


def test_no_file_means_no_colourways(cosmos):
    """Nothing is made up."""
    assert colourways_of(cosmos, NO_PALETTE) == ()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[fabrics]\nred = "forest"', "fabrics.red is no colour"),
        ('[fabrics]\n"#235347" = "a"\n"#e56399" = "A"', "name of its own"),
        ('[fabrics]\n"#ABCDEF" = "a"\n"#abcdef" = "b"', "is there twice"),
        ('[colourways.night]\nforest = "blue"', "colourways.night.forest can't be 'blue'"),
        ('[colourways."a/b"]\nforest = "#000000"', "can't be a file's name"),
        ("[colourway]", "colourway is not a known key"),
        ("[colourways]\nnight = 3", "night can't be 3"),
        ("no toml", "not TOML"),
    ],
)
def test_a_mistake_is_named_with_its_key(text, told):
    """Every mistake gives the file, the key and what is allowed."""
    with pytest.raises(ProfileError) as caught:
        parse_palette(text, "colours.toml")
    assert any(told in f.line() for f in caught.value.findings), str(caught.value)
    assert all(f.place.file == "colours.toml" for f in caught.value.findings)


def test_what_the_drawing_has_not_got_is_told_with_what_it_has(cosmos):
    """A colourway for another drawing is not half applied."""
    text = '[fabrics]\n"#111111" = "coal"\n[colourways.x]\nsky = "#000000"\ncoal = "#ffffff"'
    with pytest.raises(ProfileError) as caught:
        colourways_of(cosmos, parse_palette(text, "c.toml"))
    told = [f.line() for f in caught.value.findings]
    assert len(told) == 3
    assert all("#235347" in line for line in told)
