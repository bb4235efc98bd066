"""Names: layers, titles, which of them are read, and which look like guides."""

# ruff: noqa: E501 - a drawing reads best in one line

import pytest

from convert.errors import DrawingError, Severity
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
    ],
)
def test_patterns_look_at_every_name(how, ids):
    """Titles, labels of any editor, ids and classes, of the shape itself and of all around it; case counts."""
    if ids:
        assert " ".join(e.id for e in read(LAYERED, **how).elements) == ids
    else:
        with pytest.raises(Exception, match="4 not asked for"):
            read(LAYERED, **how)


@pytest.mark.parametrize(
    ("how", "wrong"),
    [
        ({"skip": ["Gides"]}, ["Gides"]),
        ({"only": ["*", "guides"]}, ["guides"]),
        ({"only": ["Seams"], "skip": ["", "x*"]}, ["", "x*"]),
    ],
)
def test_patterns_that_match_nothing_are_refused(how, wrong):
    """A slip in a layer's name doesn't pass: the error names the layers that there are. Case counts."""
    with pytest.raises(DrawingError) as caught:
        read(LAYERED, **how)

    findings = caught.value.findings
    assert [f.what for f in findings] == [f"nothing in the drawing is called {name!r}" for name in wrong]
    assert {f.code for f in findings} == {"READ-048"}
    assert findings[0].advice == "Its layers are called 'Seams', 'Left wing', 'Guides'"


def test_drawings_without_layers_say_what_else_has_a_name():
    """Shapes may be named as well; where nothing is, that is said."""
    for body, words in (
        (f'{LINE} id="a" class="k"/>', "shapes are called 'a', 'k'"),
        (f"<g>{LINE}/></g>", "Nothing"),
    ):
        with pytest.raises(DrawingError, match=words):
            read(body, only=["Seams"])


def test_skipping_an_inner_layer_leaves_the_outer_one():
    """Layers may be nested as deep as they like; the counts of an outer one include the inner."""
    body = f'<g id="A">{LINE}/><g id="B">{LINE}/><g id="C">{LINE}/>{LINE}/></g></g></g><g id="D" display="none">{LINE}/></g>'
    drawing = read(body, skip=["B"])

    assert [e.layers for e in drawing.elements] == [("A",)]
    layers = {"/".join(layer.path): (layer.seen, layer.left_out) for layer in drawing.contents.layers}
    assert layers == {"A": (1, 3), "A/B": (0, 3), "A/B/C": (0, 2), "D": (0, 1)}
    assert list(layers) == ["A", "A/B", "A/B/C", "D"]
    whole = {"/".join(layer.path): layer.seen for layer in read(body).contents.layers}
    assert whole == {"A": 4, "A/B": 3, "A/B/C": 2, "D": 0}


def test_an_instance_is_in_the_layer_where_it_is_drawn():
    """A shape of a skipped layer is still drawn by a `use` in another one, unless it is skipped by its own name."""
    body = f'<g id="parts">{LINE} id="p"/></g><g id="block"><use id="u" href="#p" x="9"/><use id="v" href="#parts" y="9"/></g>'

    assert [e.id for e in read(body, skip=["parts"]).elements] == ["u/p"]
    assert [e.id for e in read(body, only=["block"]).elements] == ["u/p", "v/p"]
    assert [e.id for e in read(body, only=["block"], skip=["v"]).elements] == ["u/p"]
    assert [e.id for e in read(body, only=["parts"]).elements] == ["p", "v/p"]
    assert [e.layers for e in read(body).elements] == [("parts",), ("block",), ("block", "parts")]


def test_labels_of_any_program_name_layers():
    """An attribute called label in a namespace of any program, or in the data attributes of SVG 2; and escaped ids."""
    for own in (
        'ed:label="Wing"',
        'xmlns:o="urn:o" o:label="Wing"',
        'data-name="Wing"',
        'data-label=" Wing "',
    ):
        assert read(f"<g {own}>{LINE}/></g>").elements[0].layers == ("Wing",)
    drawing = read(f'<g id="Left_x0020_wing">{LINE}/></g>{LINE}/>', only=["Left wing"])
    assert [e.layers for e in drawing.elements] == [("Left wing",)]
    assert len(read(f'<g id="Left_x0020_wing">{LINE}/></g>', only=["Left_x0020_wing"]).elements) == 1


def test_patterns_may_match_what_is_hidden_anyway():
    """Skipping a layer that is hidden, empty or kept for use is no slip."""
    body = f'<g id="Notes" display="none">{LINE}/></g><g id="none"/><defs>{LINE} id="kept"/></defs>{LINE} id="b"/>'

    assert [e.id for e in read(body, skip=["Notes", "no*", "kept"]).elements] == ["b"]


def test_what_was_left_out_is_counted_and_named():
    """One note for each layer names the shapes that were not asked for."""
    drawing = read(LAYERED, only=["b"])
    notes = [(f.what, f.place.element) for f in drawing.findings if f.code == "READ-051"]

    assert notes == [
        ("a shape in layer 'Left wing' not asked for was left out", "a"),
        ("a shape in layer 'Guides' not asked for was left out", "c"),
        ("a shape not asked for was left out", "d"),
    ]


@pytest.mark.parametrize(
    "name",
    ["Guides", "guide lines", "my_guides", "Construction", "construction-lines", "Grid 1", "Hilfslinien"],
)
def test_guide_layers_are_told(name):
    """Layers called as guides usually are (common practice) are read, but not silently."""
    finding = next(f for f in read(f'<g ed:label="{name}">{LINE}/></g>').findings if f.code == "READ-049")

    assert name in finding.what
    assert "--skip" in finding.advice


def test_guides_are_found_by_any_name_and_settled_by_a_choice():
    """A class, an id, a title or a shape's own name will do. --skip leaves them out, --only says that they are meant."""
    body = f'<g class="guides">{LINE}/>{LINE}/></g>{LINE} id="grid-1"/>{LINE} id="b"/>'
    told = [(f.value, "guides" in f.what, f.severity) for f in read(body).findings if f.code == "READ-049"]

    assert told == [(2.0, True, Severity.WARNING), (1.0, False, Severity.WARNING)]
    assert len(read(body).elements) == 4
    assert [e.id for e in read(body, skip=["guides", "grid*"]).elements] == ["b"]
    for how in ({"only": ["*"]}, {"skip": ["guides", "grid*"]}):
        assert "READ-049" not in codes(read(body, **how))


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
