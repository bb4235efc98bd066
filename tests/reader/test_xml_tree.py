"""Files as they come: encodings, compression, namespaces, and limits that each speak for themselves."""

# ruff: noqa: E501 - a drawing reads best in one line

import gzip

import pytest

from convert.errors import DrawingError
from convert.reader import (
    assemble,
    css,
    document,
    instances,
    plain,
    read_drawing_bytes,
    stylesheet,
    walk,
    xml_tree,
)
from convert.reader.node import XLINK
from convert.reader.xml_tree import parse

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
RECT = '<rect id="r" width="50" height="60"/>'


def titled(encoding, title, codec=None):
    """Return a file in an encoding that its declaration names, with a title."""
    text = f'<?xml version="1.0" encoding="{encoding}"?>\n{HEAD}<title>{title}</title>{RECT}</svg>'
    return text.encode(codec or encoding)


@pytest.mark.parametrize(
    ("encoding", "title"),
    [
        ("UTF-8", "Nähte クイルト"),
        ("UTF-16", "Nähte クイルト"),
        ("ISO-8859-1", "Nähte"),
        ("ISO-8859-15", "Nähte für 3 €"),
        ("windows-1252", "Nähte, „gut“"),
        ("windows-1251", "Лоскут"),
        ("KOI8-R", "Лоскут"),
        ("Shift_JIS", "クイルト"),
        ("EUC-JP", "クイルト"),
        ("GB18030", "拼布"),
        ("Big5", "拼布"),
        ("MacRoman", "Nähte"),
        ("US-ASCII", "Seams"),
        ("utf-32", "Nähte"),
    ],
)
def test_any_encoding_that_the_file_names_is_read(encoding, title):
    """The title comes through in every encoding that Python knows."""
    root = parse(titled(encoding, title)).root

    assert root.children[0].whole_text() == title


def test_marks_at_the_start_win_over_the_declaration():
    """A byte order mark decides (XML 1.0, appendix F); UTF-16 named in a text of single bytes means UTF-8."""
    assert (
        parse(b"\xef\xbb\xbf" + titled("latin-1", "Nähte", "utf-8")).root.children[0].whole_text() == "Nähte"
    )
    assert parse(titled("UTF-16", "Nähte", "utf-8")).root.children[0].whole_text() == "Nähte"
    bare = titled("UTF-16", "Nähte", "utf-16-be")
    assert parse(bare).root.children[0].whole_text() == "Nähte"


@pytest.mark.parametrize(
    ("data", "code", "line"),
    [
        (b'<?xml version="1.0" encoding="klingon"?><svg/>', "READ-005", 1),
        (b'<?xml version="1.0" encoding="punycode"?><svg/>', "READ-005", 1),
        (b'<?xml version="1.0" encoding="zip"?><svg/>', "READ-005", 1),
        (b'<?xml version="1.0" encoding="shift_jis"?>\n<svg>\n\x81\x00</svg>', "READ-005", 3),
        ((HEAD + "\n<g>\n\xe4</g></svg>").encode("latin-1"), "READ-004", 3),
        (HEAD.encode() + b"\n<g>\n</svg>", "READ-004", 3),
        (b"   \n", "READ-001", None),
        (b"\x1f\x8b\x08broken", "READ-002", None),
        (gzip.compress(HEAD.encode(), mtime=0)[:-9], "READ-002", None),
        (b"<!DOCTYPE html><html><svg/></html>", "READ-006", 1),
        (b'<svg xmlns="urn:other"/>', "READ-006", 1),
    ],
)
def test_what_is_no_drawing_is_told_with_its_line(data, code, line):
    """One code for each kind of broken file, and the line where there is one."""
    with pytest.raises(DrawingError) as caught:
        parse(data)

    finding = caught.value.findings[0]
    assert (finding.code, finding.place.line) == (code, line)
    assert finding.advice


@pytest.mark.parametrize(
    ("subset", "use", "code"),
    [
        ('<!ENTITY a "b">', "", "READ-010"),
        ('<!ENTITY ns_svg "http://www.w3.org/2000/svg">', "", "READ-010"),
        ('<!ENTITY % p "b">', "", "READ-010"),
        ('<!ENTITY a SYSTEM "file:///etc/hostname">', "<g>&a;</g>", "READ-010"),
        ('<!ENTITY a "&b;&b;"><!ENTITY b "&a;">', "<g>&a;</g>", "READ-010"),
    ],
)
def test_entities_are_refused_before_anything_is_made_of_them(subset, use, code):
    """No entity is expanded, and the message says how to save the drawing instead."""
    with pytest.raises(DrawingError) as caught:
        parse(f"<!DOCTYPE svg [{subset}]>{HEAD}{use}{RECT}</svg>".encode())

    assert caught.value.findings[0].code == code
    assert "plain SVG" in caught.value.findings[0].advice


def test_a_doctype_without_entities_is_fine_and_fetches_nothing():
    """The usual public DOCTYPE line is passed over; an undeclared entity behind it is told."""
    doctype = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )

    assert parse(f"{doctype}{HEAD}{RECT}</svg>".encode()).root.tag == "svg"
    with pytest.raises(DrawingError, match="nbsp"):
        parse(f"{doctype}{HEAD}<text>&nbsp;</text></svg>".encode())


def test_the_five_entities_of_xml_and_numbers_are_read():
    """&amp; and &#228; are no declared entities."""
    assert (
        parse(f"{HEAD}<title>&lt;&amp;&#228;&#x263A;</title></svg>".encode()).root.children[0].text == "<&ä☺"
    )


def test_limits_have_messages_of_their_own(monkeypatch):
    """Size, number of elements, depth and length of an attribute are limited, each with its own code."""
    small = [
        (plain, "MAX_BYTES", 50, "READ-003"),
        (xml_tree, "MAX_ELEMENTS", 2, "READ-008"),
        (xml_tree, "MAX_DEPTH", 2, "READ-007"),
        (xml_tree, "MAX_ATTRIBUTE", 20, "READ-009"),
    ]
    data = f"{HEAD}<g><rect/><rect/></g></svg>".encode()
    parse(data)
    for module, name, value, code in small:
        with monkeypatch.context() as patch:
            patch.setattr(module, name, value)
            with pytest.raises(DrawingError) as caught:
                parse(data)
        assert caught.value.findings[0].code == code


DOUBLING = f'<defs><g id="a0" fill="#fff">{RECT}</g>' + "".join(
    f'<g id="a{i + 1}"><use href="#a{i}"/><use href="#a{i}"/></g></defs><defs>' for i in range(3)
)
DOUBLING += "</defs>"
GROWING = (
    (plain, "MAX_BYTES"),
    (xml_tree, "MAX_ELEMENTS"),
    (xml_tree, "MAX_ATTRIBUTE"),
    (instances, "MAX_INSTANCES"),
    (document, "MAX_LIMITING"),
    (stylesheet, "MAX_TRIES"),
    (assemble, "MAX_PARTS"),
    (css, "MAX_LENGTH"),
)
LIMITED = {
    "READ-019": (document, "MAX_BOXES", 1, '<g style="transform-box:fill-box;transform:rotate(1deg);transform-origin:center">' * 2 + RECT + "</g></g>"),
    "READ-021": (walk, "MAX_USES", 1, f'<g id="a">{RECT}</g><g id="b"><use href="#a"/></g><use href="#b"/>'),
    "READ-022": (instances, "MAX_INSTANCES", 2, f'<g id="a">{RECT}</g><use href="#a"/><use href="#a"/>'),
    "READ-022 in masks": (document, "MAX_LIMITING", 9, DOUBLING + f'<mask id="m"><use href="#a3"/></mask><g mask="url(#m)">{RECT}</g>'),
    "READ-023": (stylesheet, "MAX_TRIES", 3, "<style>rect{fill:red}rect+rect{fill:blue}</style>" + RECT * 9),
    "READ-025": (assemble, "MAX_PARTS", 3, RECT),
    "READ-029": (css, "MAX_NESTING", 2, '<rect style="fill:f(((" width="9" height="9"/>'),
    "READ-034": (css, "MAX_LENGTH", 20, f"<style>rect{{fill:red;stroke:blue}}</style>{RECT}"),
    "READ-039": (walk, "MAX_CLIPS", 1, f'<g clip-path="inset(1%)"><g clip-path="inset(1%)">{RECT}</g></g>'),
}  # fmt: skip


@pytest.mark.parametrize("code", LIMITED)
def test_limits_of_the_walk_have_messages_of_their_own(code, monkeypatch):
    """Boxes in boxes, instances, rules, parts, brackets, styles and clips are limited, each with its own code."""
    module, name, value, body = LIMITED[code]
    data = f"{HEAD}{body}</svg>".encode()
    read_drawing_bytes(data, "a.svg")
    monkeypatch.setattr(module, name, value)

    with pytest.raises(DrawingError) as caught:
        read_drawing_bytes(data, "a.svg")
    assert caught.value.findings[-1].code == code[:8]
    assert caught.value.findings[-1].advice


def test_limits_are_above_what_a_huge_drawing_needs(monkeypatch):
    """100,000 pieces, each a group with a title, an id and one of 500 classes, clipped, are within every limit.

    It is shown by a tenth of them, within a tenth of the limits that grow with a drawing.
    """
    for module, name in GROWING:
        monkeypatch.setattr(module, name, getattr(module, name) // 10)
    pieces = 10_000
    rules = "".join(f".c{i}{{fill:#{i:06x};stroke:#000}}" for i in range(500))
    shapes = "".join(
        f'<g clip-path="url(#c)"><title>Piece {i}</title><path id="p{i}" class="c{i % 500}" d="M0 0'
        f'L{1 + i % 99} 0.123456L{1 + i % 99}.1 {1 + i % 98}.654321L0.000001 {1 + i % 98}z"/></g>'
        for i in range(pieces)
    )
    clip = '<clipPath id="c"><rect width="100" height="100"/></clipPath>'
    data = f"{HEAD}<style>{rules}</style>{clip}{shapes}</svg>".encode()

    assert len(read_drawing_bytes(data, "a.svg").elements) == pieces
    # All of them as one path; a class for each of them.
    assert pieces * 100 < xml_tree.MAX_ATTRIBUTE
    assert pieces * 24 < css.MAX_LENGTH
    assert xml_tree.MAX_DEPTH >= 200


def test_a_compressed_bomb_is_not_unpacked():
    """A gigabyte of blanks in a megabyte is refused while it is being unpacked."""
    with pytest.raises(DrawingError, match="unpacked"):
        parse(gzip.compress(b" " * (1 << 30), 1))


def test_several_compressed_members_are_one_file():
    """Gzip files may be joined (RFC 1952, 2.2)."""
    data = f"{HEAD}{RECT}</svg>".encode()

    assert parse(gzip.compress(data[:40]) + gzip.compress(data[40:])).root.children[0].id == "r"


def test_prefixes_decide_what_is_svg():
    """SVG elements are told by namespace, whatever the prefix, and nothing of any other is drawn."""
    root = parse(
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg" xmlns:k="http://www.w3.org/1999/xlink">'
        b'<s:g k:href="#x" xmlns:e="urn:e" e:label="L"><rect/><e:rect/><g xmlns="http://www.w3.org/2000/svg"/></s:g>'
        b"<e:rect xmlns:e='urn:e'/></s:svg>"
    ).root

    group = root.children[0]
    assert group.attrib == {f"{{{XLINK}}}href": "#x", "{urn:e}label": "L"}
    assert [c.tag for c in group.children] == ["{}rect", "{urn:e}rect", "g"]
    assert root.children[1].tag == "{urn:e}rect"


def test_missing_namespaces_are_forgiven_with_a_remark():
    """A drawing cut out of a web page, and one with an undeclared prefix, are read; both are told."""
    bare = read_drawing_bytes(
        f'<svg width="9mm" height="9mm"><use xlink:href="#r"/>{RECT}</svg>'.encode(), "a.svg"
    )

    assert [e.id for e in bare.elements] == ["use[1]/r", "r"]
    assert sum(f.code == "READ-027" for f in bare.findings) == 2


def test_lines_and_numbers_of_elements_are_kept():
    """A node knows its line and which of its kind it is."""
    root = parse(f"{HEAD}\n<g>\n\n<rect/></g>\n<rect\nid='x'/></svg>".encode()).root

    first, second = root.children[0].children[0], root.children[1]
    assert (first.line, first.name, second.line, second.name, second.nth) == (4, "rect[1]", 5, "x", 2)


def test_outside_style_sheets_are_told_and_not_fetched():
    """An xml-stylesheet instruction and @import are left out with a remark."""
    data = f'<?xml-stylesheet href="x.css"?>{HEAD}<style>@import url(http://example.org/x.css);</style>{RECT}</svg>'
    codes = [f.code for f in read_drawing_bytes(data.encode(), "a.svg").findings]

    assert codes == ["READ-028", "READ-030"]
