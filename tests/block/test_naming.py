"""Text in a piece names it, text in several pieces names their fabric, and both are told."""

from __future__ import annotations

from drawings import make_drawing, rectangle

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
