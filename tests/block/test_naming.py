"""Text in a piece, or its shape's title, names it; in several pieces, their fabric; and both are told."""

from __future__ import annotations

from collections import Counter

from drawings import Shape, line, make_drawing, rectangle

from convert.block import make_block
from convert.errors import Severity

ROW = [rectangle(20 * k, 0, 20, 30 + k) for k in range(5)]


def named(*texts):
    """Return {name: piece}, {fabric name: number of pieces} and the findings about names."""
    block = make_block(make_drawing(ROW, texts))
    own = {p.name: p for p in block.pieces if p.name}
    fabrics: dict[str, int] = {}
    for piece in block.pieces:
        if piece.fabric_name:
            fabrics[piece.fabric_name] = fabrics.get(piece.fabric_name, 0) + 1
    return own, fabrics, [f for f in block.remarks if f.code in ("BLOCK-009", "BLOCK-032", "BLOCK-033")]


def test_unique_text_is_the_pieces_name():
    """A text that stands in one piece is its name; all names are told in one note."""
    own, fabrics, (note,) = named(("sky", 10, 10), ("sea", 30, 10))
    assert {name: round(p.area) for name, p in own.items()} == {"sky": 600, "sea": 620}
    assert fabrics == {}
    assert (note.code, note.severity, note.value) == ("BLOCK-032", Severity.NOTE, 2.0)
    assert "'sea', 'sky'" in note.what


def test_repeated_text_names_the_fabric():
    """A text in several pieces, in small or capital letters, names their fabric and no piece."""
    own, fabrics, notes = named(("blue", 10, 10), ("Blue", 30, 10), ("red", 50, 10))
    assert set(own) == {"red"}
    assert sum(fabrics.values()) == 2
    assert [n.code for n in notes] == ["BLOCK-032", "BLOCK-033"]
    assert notes[1].value == 2


def test_a_pieces_texts_are_read_together():
    """Two texts in one piece are one name, from the top on; outside all pieces they name none."""
    own, _, notes = named(("two", 10, 5), ("one", 10, 15), ("lost", 150, 10))
    assert set(own) == {"one two"}
    assert [n.code for n in notes] == ["BLOCK-009", "BLOCK-032"]


def test_titles_name_what_is_seen_of_their_shapes():
    """Where no text lies, the title of the topmost shape names the piece, or several pieces' fabric."""
    red = "#cc2222"
    shapes = [
        Shape(rectangle(0, 0, 60, 60), None, "#ddddcc", title="ground"),
        Shape(rectangle(0, 0, 20, 20), None, red, title="hidden"),
        Shape(rectangle(0, 0, 20, 20), None, red, title="corner"),
        Shape(rectangle(40, 0, 20, 20), None, red, title="rose"),
        Shape(rectangle(40, 40, 20, 20), None, red, title="rose"),
        Shape(rectangle(0, 40, 20, 20), None, red, title="title"),
        Shape(rectangle(20, 20, 20, 20), title="window"),
        Shape(line((20, 30), (40, 30)), title="seam"),
    ]
    block = make_block(make_drawing(shapes, [("text", 10, 50)]))
    assert {p.name for p in block.pieces if p.name} == {"corner", "text"}
    common = Counter(p.fabric_name for p in block.pieces if p.fabric_name)
    assert common == {"ground": 4, "rose": 2, "window": 2}
    told = [f.what for f in block.remarks if f.code in ("BLOCK-032", "BLOCK-033")]
    assert "title" in told[0]
    assert "'ground' names 4 pieces" in told[1]


def test_no_text_no_note():
    """Without text nothing is named and nothing said."""
    assert named() == ({}, {}, [])


def test_many_names_are_cut_short():
    """A note lists a few names only."""
    rows = [rectangle(10 * k, 0, 10, 10) for k in range(15)]
    block = make_block(make_drawing(rows, [(f"n{k:02}", 10 * k + 5, 5) for k in range(15)]))
    (note,) = [f for f in block.remarks if f.code == "BLOCK-032"]
    assert "15 pieces" in note.what
    assert note.what.endswith("…")
