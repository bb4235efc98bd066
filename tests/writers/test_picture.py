"""Pictures of colourways: every piece is there, in its colour, and a renderer draws them so."""

from collections import Counter
from xml.etree import ElementTree as ET

import pymupdf
from booklets import drawn

from convert.colourways import colourways_of, parse_palette
from convert.writers.picture import picture_bytes

SVG = "{http://www.w3.org/2000/svg}"
PALETTE = parse_palette('[colourways.night]\n"#235347" = "#000020"\n"#f6c445" = "#ff00ff"', "c.toml")


def picture():
    """Return the picture of the flower at night."""
    (way,) = colourways_of(drawn("cosmos"), PALETTE)
    return picture_bytes(drawn("cosmos"), "Cosmos & night", way.colours)


def test_every_piece_has_its_colour():
    """17 pieces: 8 of the ground's new colour, 4 and 4 petals, and the eye; each by its label."""
    root = ET.fromstring(picture())
    count = Counter()
    for group in root.findall(f".//{SVG}g[@fill]"):
        count[group.get("fill")] += len(group.findall(f"{SVG}path"))
    assert count == {"#000020": 8, "#e56399": 4, "#f4a6c6": 4, "#ff00ff": 1}
    assert {path.get("id") for path in root.iter(f"{SVG}path")} == {p.label for p in drawn("cosmos").pieces}
    assert root.find(f"{SVG}title").text == "Cosmos & night"


def test_it_looks_so():
    """Drawn by an independent renderer, the middle has the eye's new colour, and a corner the ground's."""
    image = pymupdf.open(stream=picture(), filetype="svg")[0].get_pixmap(dpi=96)
    middle = (image.width // 2, image.height // 2)
    assert image.pixel(*middle) == (255, 0, 255)
    assert image.pixel(image.width // 20, image.height // 10) == (0, 0, 32)


def test_same_picture_same_bytes():
    """Nothing of the moment gets into the file."""
    assert picture() == picture()
