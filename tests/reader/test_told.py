"""What is said of things that are not drawn as they stand, and what is refused."""

# ruff: noqa: E501 - a drawing reads best in one line

import pytest

from convert.errors import DrawingError, Severity
from convert.reader import read_drawing_bytes

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
BOX = '<rect id="b" x="10" y="10" width="40" height="40" {}/>'


def read(body):
    """Read an SVG document made of HEAD and `body`."""
    return read_drawing_bytes(f"{HEAD}{body}</svg>".encode(), "a.svg")


def codes(drawing):
    """Return the codes of all findings."""
    return [f.code for f in drawing.findings]


@pytest.mark.parametrize(
    ("body", "code", "severity"),
    [
        ('<image id="p" href="x.png" width="9" height="9"/>', "READ-031", Severity.WARNING),
        ('<foreignObject id="p" width="9" height="9"/>', "READ-031", Severity.WARNING),
        ('<wobble id="p"/>', "READ-032", Severity.WARNING),
        ('<use id="p" href="other.svg#x"/>', "READ-033", Severity.WARNING),
        ('<use id="p"/>', "READ-033", Severity.WARNING),
        ('<rect id="p" width="9" height="nine"/>', "READ-042", Severity.WARNING),
        ('<g display="none"><rect id="p" width="9" height="9"/></g>', "READ-043", Severity.NOTE),
        ('<path id="p" d="M0 0H9" fill="red"/>', "READ-044", Severity.NOTE),
        ('<path id="p" d="M0 0" stroke="red"/>', "READ-052", Severity.NOTE),
        ('<path id="p" d="M0 0H9" stroke="red" stroke-dasharray="2"/>', "READ-054", Severity.NOTE),
        (
            '<pattern id="q" width="2" height="2"><path d="M0 0h1"/></pattern><rect id="p" width="9" height="9" fill="url(#q)"/>',
            "READ-055",
            Severity.NOTE,
        ),
        (
            '<marker id="q"/><path id="p" d="M0 0H9" stroke="red" marker-end="url(#q)"/>',
            "READ-053",
            Severity.NOTE,
        ),
        (
            '<rect id="p" width="9" height="9"><animate/></rect><animate id="p"/>',
            "READ-050",
            Severity.WARNING,
        ),
        ('<g transform="scale(0)"><path id="p" d="M0 0H9" stroke="red"/></g>', "READ-043", Severity.NOTE),
    ],
)
def test_nothing_is_left_out_silently(body, code, severity):
    """Every kind of thing that is not drawn as it stands is told once, with its line and name."""
    drawing = read(f"\n{body}\n<rect x='50' width='9' height='9'/>")

    finding = next(f for f in drawing.findings if f.code == code)
    assert (finding.severity, finding.place.line, finding.place.element) == (severity, 2, "p")
    assert finding.place.file == "a.svg"


def test_the_same_remark_is_made_once_with_names():
    """Many elements, one line; the first names and the number of the others."""
    body = "".join(f'<rect id="h{i}" width="9" height="9" display="none"/>' for i in range(9)) + BOX.format(
        ""
    )
    (finding,) = read(body).findings

    assert finding.what == "9 hidden shapes were left out: #h0, #h1, #h2 and 6 more"
    assert finding.value == 9


def test_style_rules_that_are_not_understood_are_told():
    """At-rules and selectors that can't be followed are named."""
    style = "<style>@supports (hanging-punctuation:first){rect{fill:red}} rect:nonsense{fill:red} @media (min-width:5px){rect{fill:red}}</style>"
    drawing = read(style + BOX.format(""))

    assert codes(drawing) == ["READ-030"] * 3
    assert drawing.elements[0].fill == "#000000"


def test_costly_style_rules_end_in_words(monkeypatch):
    """Rules about neighbours over many elements have a limit."""
    from convert.reader import stylesheet

    monkeypatch.setattr(stylesheet, "MAX_TRIES", 1000)
    body = "<style>rect~rect~rect{fill:red}</style>" + BOX.format("") * 200
    with pytest.raises(DrawingError, match="too costly"):
        read(body)


def test_what_lies_beside_the_page_is_left_out():
    """Scraps beside the page are not seen; what touches the page, be it with half its stroke, is."""
    drawing = read(
        BOX.format("")
        + '<rect id="left" x="-60" width="50" height="50"/><rect id="low" y="101" width="50" height="50"/>'
        + '<rect id="touch" x="100" width="9" height="9"/><path id="half" stroke="red" stroke-width="4" d="M-1 0V50"/>'
    )

    assert [e.id for e in drawing.elements] == ["b", "touch", "half"]
    note = next(f for f in drawing.findings if f.code == "READ-057")
    assert "#left and #low" in note.what
    assert note.place.line == 1
    assert len(drawing.segments) == len(drawing.element_of) == len(drawing.implied) == 9


def test_a_drawing_off_its_page_is_told():
    """Wholly outside, or reaching far beyond: both are said with the number, and it is taken whole."""
    outside = read('<rect x="200" y="10" width="40" height="40"/>')
    beyond = read('<rect x="80" y="10" width="40" height="40"/>')
    flush = read('<rect x="0" y="0" width="100" height="101"/>')

    assert codes(outside) == codes(beyond) == ["READ-045"]
    assert beyond.findings[0].value == pytest.approx(20)
    assert codes(flush) == []


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ('<rect id="p" width="1e7" height="9"/>', "READ-016"),
        (
            '<g transform="scale(1e99)"><g transform="scale(1e99)"><rect id="p" width="9" height="9"/></g></g>',
            "READ-016",
        ),
        ('<rect width="1e-5" height="1e-5"/>', "READ-026"),
        ('<g id="g"><use id="p" href="#g"/></g>', "READ-020"),
        ('<g id="a"><use href="#b"/></g><g id="b"><use id="p" href="#a"/></g>', "READ-020"),
    ],
)
def test_what_cannot_be_measured_is_refused(body, code):
    """Coordinates beyond a kilometre, drawings smaller than a hair, endless instances."""
    with pytest.raises(DrawingError) as caught:
        read(f"\n{body}")

    finding = caught.value.findings[0]
    assert finding.code == code
    assert finding.place.line == (None if code == "READ-026" else 2)


def test_instances_have_a_limit():
    """Ten to the ninth shapes are counted, not drawn."""
    groups = "".join(f'<g id="i{k + 1}">' + f'<use href="#i{k}"/>' * 10 + "</g>" for k in range(9))
    with pytest.raises(DrawingError, match="instances make over"):
        read('<path id="i0" d="M0 0H1" stroke="red"/>' + groups)


def test_instances_in_definitions_that_nobody_draws_are_no_matter():
    """A bomb that is never set off, and a drawing nested 900 deep, are read."""
    groups = "".join(f'<g id="i{k + 1}">' + f'<use href="#i{k}"/>' * 10 + "</g>" for k in range(9))
    bomb = f'<defs><path id="i0" d="M0 0H1" stroke="red"/>{groups}</defs>'

    assert len(read(bomb + "<g>" * 900 + BOX.format("") + "</g>" * 900).elements) == 1
