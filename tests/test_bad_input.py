"""Bad drawings: each kind gives a clear line, ends with 1 or 2, fast and small, and nothing is written."""

import subprocess
import sys
import time

import pytest

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">{}</svg>'
LINE = '<path d="{}" fill="none" stroke="black"/>'
BOMB = (
    "<!DOCTYPE svg ["
    "<!ENTITY a0 \"<path d='M0 0H9V9Z'/>\">"
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    + "]>"
    + SVG.format("&a9;")
)
BAD = {
    "missing": None,
    "empty": "",
    "spaces": "  \n ",
    "not XML": "this is not a drawing",
    "broken XML": SVG.format("<g>"),
    "not SVG": "<html><body>hello</body></html>",
    "another namespace": '<svg xmlns="http://example.org/other"><path d="M0 0H9V9Z"/></svg>',
    "binary": b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR" + bytes(200),
    "nothing drawn": SVG.format(""),
    "nothing visible": SVG.format('<path d="M0 0H9V9Z" fill="none"/><path d="M9 9H1V1Z" opacity="0"/>'),
    "nothing closed": SVG.format(LINE.format("M0 0L50 30")),
    "NaN": SVG.format(LINE.format("M0 0H9VNaNZ")),
    "infinite": SVG.format(LINE.format("M0 0H1e999V9Z")),
    "enormous": SVG.format(LINE.format("M0 0H1e30V1e30Z")),
    "enormous scale": SVG.format('<g transform="scale(1e200)">' + LINE.format("M0 0H9V9Z") + "</g>"),
    "zero scale": SVG.format('<g transform="scale(0)">' + LINE.format("M0 0H9V9Z") + "</g>"),
    "recursive use": SVG.format('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
    "use of itself": SVG.format('<g id="a"><path d="M0 0H9V9Z"/><use href="#a" x="1"/></g>'),
    "doubling use": SVG.format(
        '<path id="u0" d="M0 0H9V9Z"/>'
        + "".join(f'<g id="u{n}">' + f'<use href="#u{n - 1}"/>' * 2 + "</g>" for n in range(1, 40))
    ),
    "entity bomb": BOMB,
    "external entity": '<!DOCTYPE svg [<!ENTITY x SYSTEM "other.svg">]>' + SVG.format("<text>&x;</text>"),
    "external type": '<!DOCTYPE svg SYSTEM "http://example.org/x.dtd">' + SVG.format("&y;"),
    "deep nesting": SVG.format("<g>" * 50_000 + "</g>" * 50_000),
    "zero size": '<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0"><path d="M0 0H9V9Z"/></svg>',
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_input(kind, tmp_path):
    """One to three lines, exit code 1 or 2, under 2 s and 500 MB, and no output folder."""
    drawing = tmp_path / "bad.svg"
    content = BAD[kind]
    if content is not None:
        drawing.write_bytes(content if isinstance(content, bytes) else content.encode())
    limit = "import resource, sys; resource.setrlimit(resource.RLIMIT_DATA, (500_000_000, 500_000_000))\n"
    code = limit + "from convert.cli import main; main()"
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, "convert", "bad.svg", "--out", "out", "--size", "s=6in"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=20,
    )
    seconds = time.perf_counter() - begun
    lines = done.stderr.splitlines()
    assert done.returncode in {1, 2}, (done.returncode, done.stdout, lines)
    assert 1 <= len(lines) <= 3
    assert lines[0].startswith("bad.svg:")
    assert "internal error" not in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()
    assert seconds < 2
