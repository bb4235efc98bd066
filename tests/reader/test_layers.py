"""Names: layers, titles, which of them are read, and which look like guides."""

# ruff: noqa: E501 - a drawing reads best in one line

import pytest

from convert.reader import read_drawing_bytes

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:ed="urn:some-editor" width="100mm" height="100mm" viewBox="0 0 100 100">'
LINE = '<path stroke="red" d="M0 0H9"'


def read(body, **how):
    """Read an SVG document made of `body`."""
    return read_drawing_bytes(f"{HEAD}{body}</svg>".encode(), "a.svg", **how)


def codes(drawing):
    """Return the codes of all findings."""
    return [f.code for f in drawing.findings]


LAYERED = (
    f'<g id="g1" ed:label="Seams"><g class="inner"><title> Left  wing </title>{LINE} id="a" class="thin dark"/></g>{LINE} id="b"/></g>'
    f'<g id="Guides">{LINE} id="c"><title>middle line</title></path></g>{LINE} id="d" ed:label="loose"/>'
)


@pytest.mark.parametrize(
    ("how", "ids"),
    [
        ({"only": ["Seams"]}, "a b"),
        ({"only": ["g1"]}, "a b"),
        ({"only": ["Left*"]}, "a"),
        ({"only": ["inner"]}, "a"),
        ({"only": ["dark"]}, "a"),
        ({"only": ["loose", "middle line"]}, "c d"),
        ({"skip": ["Guides"]}, "a b d"),
        ({"skip": ["?"]}, ""),
        ({"skip": ["[ab]", "loose"]}, "c"),
        ({"only": ["Seams"], "skip": ["inner"]}, "b"),
        ({"skip": ["guides"]}, "a b c d"),
    ],
)
def test_patterns_look_at_every_name(how, ids):
    """Titles, labels of any editor, ids and classes, of the shape itself and of all around it; case counts."""
    if ids:
        assert " ".join(e.id for e in read(LAYERED, **how).elements) == ids
    else:
        with pytest.raises(Exception, match="4 not asked for"):
            read(LAYERED, **how)


def test_patterns_that_match_nothing_are_told():
    """A slip in a layer's name doesn't pass unseen."""
    drawing = read(LAYERED, skip=["Gides"])

    assert "READ-048" in codes(drawing)
    assert "'Gides'" in next(f.what for f in drawing.findings if f.code == "READ-048")
    assert "READ-048" not in codes(read(LAYERED, skip=["Guides"]))


def test_what_was_left_out_is_counted_and_named():
    """One note names the shapes that were not asked for."""
    note = next(f for f in read(LAYERED, only=["b"]).findings if f.code == "READ-051")

    assert note.value == 3
    assert "a, c, d" in note.what


@pytest.mark.parametrize(
    "name",
    ["Guides", "guide lines", "my_guides", "Construction", "construction-lines", "Grid 1", "Hilfslinien"],
)
def test_guide_layers_are_told(name):
    """Layers called as guides usually are (common practice) are read, but not silently."""
    finding = next(f for f in read(f'<g ed:label="{name}">{LINE}/></g>').findings if f.code == "READ-049")

    assert name in finding.what
    assert "--skip" in finding.advice


@pytest.mark.parametrize("name", ["Guidelight", "gridlock", "misguided", "Ingrid", "Deconstruction"])
def test_other_words_are_no_guides(name):
    """Only whole words count."""
    assert "READ-049" not in codes(read(f'<g id="{name}">{LINE}/></g>'))


def test_layers_name_groups_instances_and_nested_drawings():
    """Groups without any name are passed over; a symbol that is drawn is a layer, too."""
    drawing = read(
        f'<symbol id="s"><title>Petal</title>{LINE}/></symbol>'
        f'<g><g id="one"><svg id="n"><a id="l">{LINE}/></a></svg></g></g><g id="two"><use id="u" href="#s"><title>first</title></use></g>'
    )

    assert [e.layers for e in drawing.elements] == [("one", "n", "l"), ("two", "first", "Petal")]
    assert [e.id for e in drawing.elements] == ["path[2]", "u/path[1]"]


def test_places_of_elements():
    """Tag, line and classes of an element are its own."""
    (element,) = read(f'\n\n{LINE} class=" x  y "/>').elements

    assert (element.tag, element.line, element.classes) == ("path", 3, ("x", "y"))
