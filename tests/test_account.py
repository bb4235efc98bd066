"""What a maker is told of a drawing: in plain words for reading, and as values for other programs."""

# ruff: noqa: E501 - a drawing reads best in one line

import json

import jsonschema
import pytest

from convert.account import is_told, lines, told, values
from convert.cli import cli
from convert.errors import Finding, Place, Severity
from convert.reader import read_drawing_bytes
from convert.writers.manifest import manifest_schema

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:ed="urn:some-editor" width="120mm" height="100mm" '
    'viewBox="0 0 120 100">\n'
)
GRID = '<path d="M10 10H70V50H10Z" fill="none" stroke="#222"/><path id="mid" d="M40 10V50" stroke="#222"/>'


def read(body):
    """Read an SVG document made of `body`."""
    return read_drawing_bytes(f"{HEAD}{body}</svg>".encode(), "a.svg")


def account(body, remarks=()):
    """Return the account of such a document."""
    return list(lines(read(body), remarks))


def test_long_lists_are_grouped_by_layer():
    """Twelve hidden shapes are one line: their layer, the first three, and how many more."""
    hidden = "".join(f'<path id="{c}" d="M0 0H9"/>' for c in "abcdefghijkl")
    found = account(f'<g ed:label="Seams">{GRID}</g><g ed:label="guides" display="none">{hidden}</g>')

    assert found[:4] == [
        "What is in the drawing:",
        "  2 shapes on a page of 120 mm x 100 mm: 0 filled, 2 drawn as lines only.",
        "  Layer 'Seams': 2 shapes.",
        "  Layer 'guides': 12 shapes, all left out.",
    ]
    assert (
        "  - 12 hidden shapes in layer 'guides' were left out: #a, #b, #c and 9 more. "
        "What should be pieced must be seen: show it in your editor."
    ) in found


WORDS = {
    "hidden": ('<rect id="x" width="9" height="9" visibility="hidden"/>', "A hidden shape was left out (#x, line 2)"),
    "no opacity": ('<g opacity="0"><rect width="9" height="9"/></g>', "A shape without any opacity was left out (rect 1 on line 2)"),
    "no paint": ('<rect id="x" width="9" height="9" fill="none"/>', "A shape with neither fill nor stroke was left out (#x, line 2). Give it a fill"),
    "no length": ('<rect id="x" width="9"/>', "A shape without any length was left out (#x, line 2)"),
    "definitions": ('<defs><rect id="x" width="9" height="9"/></defs>', "A shape that is only kept for use (in defs or a symbol) is drawn nowhere (#x, line 2). If"),
    "clipped away": ('<clipPath id="c"/><rect id="x" width="9" height="9" clip-path="url(#c)"/>', "A shape outside of every clip or mask round it was left out (#x, line 2). Release"),
    "clipped away in the end": ('<clipPath id="c"><rect x="90" width="9" height="9"/></clipPath><rect id="x" width="9" height="9" clip-path="url(#c)"/>', "A shape outside of every clip or mask round it was left out (#x, line 2). Release"),
    "partly clipped": ('<clipPath id="c"><rect width="5" height="9"/></clipPath><rect id="x" width="9" height="9" clip-path="url(#c)"/>', "What lies outside of the clip path #c is not seen and was left out (#x, line 2). Release"),
    "masked out": ('<mask id="m"/><rect id="x" width="9" height="9" mask="url(#m)"/>', "A shape outside of every clip or mask round it was left out (#x, line 2)"),
    "markers": ('<marker id="m"><path d="M0 0H1V1z"/></marker><path id="x" d="M1 1H9" stroke="red" marker-end="url(#m)"/>', "Markers (such as arrow heads) on a line were left out (#x, line 2)"),
    "pictures": ('<image id="x" width="9" height="9"/>', "A picture holds no lines that can be pieced and was left out (#x, line 2). Draw"),
    "parts of web pages": ('<foreignObject id="x" width="9" height="9"/>', "A part of a web page (foreignObject) holds no lines"),
    "other programs": ('<ed:view zoom="2"/>', "Data that some program keeps for itself was not looked at (view 1 on line 2)"),
    "guides": ('<g ed:label="My guides"><path d="M1 1H9" stroke="red"/></g>', "A shape in layer 'My guides' was read as seams, but by that name may be mere guide lines. If so, leave them out with --skip 'My guides'."),
    "beside the page": ('<rect id="x" x="200" width="9" height="9"/>', "A shape wholly beside the page was left out (#x, line 2)"),
    "languages": ('<rect id="x" systemLanguage="qq" width="9" height="9"/>', "A shape for other languages or programs was left out (#x, line 2)"),
    "scripts": ("<script>x()</script>", "A script was not run (script 1 on line 2)"),
    "broken path data": ('<path id="x" d="M1 1H9V9 L Z" stroke="red"/>', "Its path data has an error at character 12 (a number was expected), and is drawn up to there (#x, line 2)"),
    "half masks": ('<mask id="m"><rect width="99" height="99" fill="#888"/></mask><rect id="x" width="9" height="9" mask="url(#m)"/>', "A mask that lets a part of the light through is not followed, and what it masks is taken whole (#x, line 2). Cut"),
    "patterns": ('<pattern id="q" width="2" height="2"><path d="M0 0h1"/></pattern><rect id="x" width="9" height="9" fill="url(#q)"/>', "A pattern counts as one fabric, and no line in it as a seam (#x, line 2)."),
    "gradients": ('<linearGradient id="q"><stop/></linearGradient><rect id="x" width="9" height="9" fill="url(#q)"/>', "A gradient counts as one fabric, and no line in it as a seam (#x, line 2)."),
    "filters": ('<filter id="f"><feOffset/></filter><rect id="x" width="9" height="9" filter="url(#f)"/>', "A filter (such as a shadow or blur) was left out (#x, line 2)."),
    "blending": ('<rect id="x" width="9" height="9" style="mix-blend-mode:multiply"/>', "A shape that is blended with what lies under it hides none of it (#x, line 2)."),
    "dashes": ('<path id="x" d="M1 1H9" stroke="red" stroke-dasharray="1"/>', "A dashed line is taken as a whole one (#x, line 2)."),
    "style rules": ("<style>@media (min-width:9px){rect{fill:red}}</style>", "@media (min-width:9px) in a style sheet is not followed and was left out. Give"),
    "outside style sheets": ("<style>@import 'a.css';</style>", "@import \"a.css\", for which a file outside would be needed, in a style sheet is not followed"),
    "copies of nothing": ('<use id="x" href="#none"/>', "A copy (`use`) points to #none, which is not in this file, and draws nothing (#x, line 2). Draw"),
    "animations": ('<animate id="x"/>', "An animation was left out, and the drawing taken as it stands (#x, line 2)."),
    "unknown elements": ('<wobble id="x"/>', "<wobble> is nothing that a browser draws, and was left out (#x, line 2)."),
    "wrong transforms": ('<rect id="x" width="9" height="9" transform="spin(3)"/>', "The transform 'spin(3)' is not one that a browser knows, and is left out (#x, line 2). Look"),
    "copies": ('<defs><g id="n" display="none"><path id="x" d="M0 0H9"/></g></defs><use id="u" href="#n"/>', "A hidden shape in layer 'n' was left out (#x in #u, line 2)"),
}  # fmt: skip


@pytest.mark.parametrize("kind", WORDS)
def test_every_reason_has_plain_words(kind):
    """What was left out or taken otherwise, why, which element on which line, and what to do about it."""
    body, words = WORDS[kind]
    found = account(f"{GRID}\n{body}")

    assert [line for line in found if line.startswith("  - " + words.replace("line 2", "line 3"))], found


def test_nothing_left_out_is_said_too():
    """A clean drawing gets a clean bill; there is nothing else to know then."""
    assert account(GRID)[-2:] == ["What was left out, and why:", "  Nothing."]


def test_layers_in_layers_are_indented_and_many_are_counted():
    """Inner layers stand under outer ones; when there are too many to list, the outermost are, and the others counted."""
    nested = account(f'<g id="A">{GRID}<g id="B">{GRID}<rect width="9"/></g></g>{GRID}')
    many = account("".join(f'<g id="g{i}"><g id="h{i}">{GRID}</g></g>' for i in range(20)))

    assert nested[2:5] == [
        "  Layer 'A': 4 shapes, and 1 left out.",
        "    Layer 'B': 2 shapes, and 1 left out.",
        "  In no layer: 2 shapes.",
    ]
    assert many[2] == "  Layer 'g0': 2 shapes."
    assert many[17] == "  25 more layers and groups with names; --json lists them all."


def test_texts_and_pictures_are_counted():
    """Texts are shown, the first eight of them."""
    found = account(
        GRID
        + "".join(f'<text x="9" y="{9 * i}">t{i}</text>' for i in range(10))
        + '<image width="9" height="9"/>' * 2
    )

    assert found[2] == "  10 texts: 't0', 't1', 't2', 't3', 't4', 't5', 't6', 't7' and 2 more."
    assert found[3] == "  2 pictures or the like."


def test_remarks_on_the_block_are_put_together():
    """Of one kind the first is told in full and the others named, or counted where they are the same element."""

    def remark(code, element, what="{} lies under", at=None, severity=Severity.NOTE):
        return Finding(code, severity, what.format(element), "Move it", Place(line=4, element=element, at=at))

    under = [remark("BLOCK-006", e) for e in ("a", "rect[3]", "b")]
    loose = [remark("BLOCK-003", "a", "a line sticks out", (1.0, 2.5))] * 2
    sharp = [remark("BLOCK-054", "a"), remark("BLOCK-003", "a", severity=Severity.ERROR)]
    found = account(GRID, [*under, *loose, *sharp])

    assert found[-2:] == [
        "  - #a lies under; the same holds for rect 3 on line 4 and #b. Move it.",
        "  - A line sticks out (1 mm from the left and 2.5 mm from the top of the page); there is 1 more like it. Move it.",
    ]
    assert [is_told(f) for f in (under[0], *sharp)] == [True, False, False]


def test_values_hold_the_same_and_every_element():
    """The account as JSON has all names, and keeps to the manifest's schema."""
    hidden = "".join(f'<path id="h{i}" d="M0 0H9"/>' for i in range(40))
    drawing = read(f'{GRID}<g id="Old" display="none">{hidden}</g><text x="20" y="20">A</text>')
    found = json.loads(json.dumps(values(drawing)))
    schema = manifest_schema()
    jsonschema.validate(found, {**schema["properties"]["drawing"], "$defs": schema["$defs"]})

    (old,) = found["left_out"]
    assert (old["code"], old["layer"], old["severity"]) == ("READ-043", "Old", "note")
    assert [e["element"] for e in old["elements"]] == [f"h{i}" for i in range(40)]
    assert found["layers"] == [{"path": ["Old"], "seen": 0, "left_out": 40, "guide": False}]
    assert found["shapes"] == {"filled": 0, "lines": 2}
    assert found["texts"] == [{"text": "A", "element": "text[1]", "line": 2}]
    assert [t.what for t in told(drawing)] == [t["what"] for t in found["left_out"]]


@pytest.fixture
def inspect(tmp_path):
    """Return a function that inspects a drawing on the command line: its exit code or error, and its output."""
    from click.testing import CliRunner

    def run(body, *options):
        (tmp_path / "x.svg").write_text(HEAD + body + "</svg>")
        result = CliRunner().invoke(cli, ["inspect", str(tmp_path / "x.svg"), *options])
        return result.exception, result.stdout.splitlines()

    return run


def test_a_drawing_that_nothing_can_be_made_of_is_described_all_the_same(inspect):
    """That is when its maker needs it most."""
    loose = (
        '<path d="M10 10H70V50" fill="none" stroke="red"/><g id="Old" display="none"><path d="M0 0H9"/></g>'
    )
    error, out = inspect(loose)
    assert [f.code for f in error.findings] == ["BLOCK-001"]
    assert any("A hidden shape in layer 'Old' was left out" in line for line in out)

    error, out = inspect(loose, "--json")
    found = json.loads("\n".join(out))
    assert [e["code"] for e in found["errors"]] == ["BLOCK-001"]
    assert found["drawing"]["left_out"][0]["layer"] == "Old"


def test_a_drawing_that_shows_nothing_says_why(inspect):
    """Every reason is among the messages, with the elements."""
    error, out = inspect(
        '<g id="Old" display="none"><path id="p" d="M0 0H9"/></g><rect id="q" width="9" height="9" fill="none"/>'
    )
    assert out == []
    assert [f.code for f in error.findings] == ["READ-018", "READ-043", "READ-044"]
    assert error.findings[0].what == "the drawing shows no line (1 hidden, 1 with neither stroke nor fill)"

    _, out = inspect("", "--json")
    assert json.loads("\n".join(out))["errors"][0]["code"] == "READ-018"


def test_what_the_job_settles_is_not_told(inspect, monkeypatch):
    """A drawing without a real size is a guess; that it is one is said once, by a message on its own."""
    monkeypatch.setattr(f"{__name__}.HEAD", HEAD.replace('width="120mm" height="100mm"', ""))
    for options, guessed in (((), True), (("--size", "a=4in"), True), (("--one-unit", "1mm"), False)):
        error, out = inspect(GRID, *options)
        assert error is None
        assert not any("states no real size" in line for line in out)
        assert any("(a guess: the drawing does not say how large it is)" in line for line in out) == guessed
