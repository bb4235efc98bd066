"""Nothing outside the file is looked at, whatever the file asks for: no other file, no network, no program."""

# ruff: noqa: E501 - a drawing reads best in one line

import subprocess
import sys

import pytest

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xi="http://www.w3.org/2001/XInclude" width="100mm" height="100mm" viewBox="0 0 100 100">'
BOX = '<rect id="r" width="50" height="60"/>'
WATCHED = """
import sys
from pathlib import Path
from convert.errors import DrawingError
from convert.reader import read_drawing
folder = Path(sys.argv[1])
read_drawing(folder / "warm-up.svg")  # imports what is imported late
seen = []
def watch(event, args):
    if event.startswith(("socket.", "urllib.", "http.", "ftplib.", "subprocess.", "os.exec", "os.spawn", "os.posix_spawn", "os.system", "webbrowser")):
        seen.append((event, str(args)))
    # Modules that are imported late are files, too, but none of the drawing's.
    elif event in ("open", "os.listdir", "os.scandir", "glob.glob") and not str(args[0]).endswith((".py", ".pyc", ".so")):
        seen.append((event, str(args[0])))
sys.addaudithook(watch)
for drawing in sorted(folder.glob("drawing *.svg")):
    seen.clear()
    try:
        read = read_drawing(drawing)
        outcome = f"read {len(read.elements)}"
    except DrawingError as fault:
        outcome = fault.findings[0].code
    looked = [entry for entry in seen if entry != ("open", str(drawing))]
    print(f"{drawing.stem.removeprefix('drawing ')}: {outcome} {looked}")
"""


def documents(secret):
    """Return documents that ask for `secret` (an address), by what they ask with, and what becomes of them."""
    href = f'href="{secret}#r" xlink:href="{secret}#r"'
    return {
        "entity": (f'<!DOCTYPE svg [<!ENTITY x SYSTEM "{secret}">]>{HEAD}{BOX}<text>&x;</text></svg>', "READ-010"),
        "parameter entity": (f'<!DOCTYPE svg [<!ENTITY % x SYSTEM "{secret}"> %x;]>{HEAD}{BOX}</svg>', "READ-010"),
        "doctype": (f'<!DOCTYPE svg SYSTEM "{secret}">{HEAD}{BOX}</svg>', "read 1"),
        "public doctype": (f'<!DOCTYPE svg PUBLIC "x" "{secret}">{HEAD}{BOX}</svg>', "read 1"),
        "style sheet": (f'<?xml-stylesheet type="text/css" href="{secret}"?>{HEAD}{BOX}</svg>', "read 1"),
        "transformation": (f'<?xml-stylesheet type="text/xsl" href="{secret}"?>{HEAD}{BOX}</svg>', "read 1"),
        "@import": (f'{HEAD}<style>@import "{secret}";@import url({secret});</style>{BOX}</svg>', "read 1"),
        "@font-face": (f"{HEAD}<style>@font-face{{font-family:x;src:url({secret})}}</style>{BOX}</svg>", "read 1"),
        "link": (f'{HEAD}<link rel="stylesheet" href="{secret}"/>{BOX}</svg>', "read 1"),
        "paint": (f'{HEAD}<rect fill="url({secret}#p) red" width="9" height="9"/>{BOX}</svg>', "read 2"),
        "clip path": (f'{HEAD}<g clip-path="url({secret}#c)" mask="url({secret}#m)" filter="url({secret}#f)">{BOX}</g></svg>', "read 1"),
        "marker": (f'{HEAD}<g style="marker:url({secret}#m);cursor:url({secret})">{BOX}</g></svg>', "read 1"),
        "use": (f"{HEAD}<use {href}/>{BOX}</svg>", "read 1"),
        "picture": (f"{HEAD}<image {href}/><foreignObject {href}/>{BOX}</svg>", "read 1"),
        "gradient": (f'{HEAD}<linearGradient id="g" {href}/><rect fill="url(#g)" width="9" height="9"/>{BOX}</svg>', "read 1"),
        "script": (f"{HEAD}<script {href}>import('{secret}')</script><a {href}>{BOX}</a></svg>", "read 1"),
        "include": (f'{HEAD}<xi:include href="{secret}" parse="text"/>{BOX}</svg>', "read 1"),
        "base": (f'{HEAD}<g xml:base="{secret}"><use href="x.svg#r"/></g>{BOX}</svg>', "read 1"),
        "text path": (f"{HEAD}<text><textPath {href}>x</textPath><tref {href}/></text>{BOX}</svg>", "read 1"),
    }  # fmt: skip


def watched(folder, program=WATCHED):
    """Return what a process that is watched says of the drawings in a folder."""
    warm = f'{HEAD}<style>.a{{fill:red}}</style><g clip-path="inset(1%)">{BOX}</g><text>x</text></svg>'
    (folder / "warm-up.svg").write_text(warm)
    done = subprocess.run([sys.executable, "-c", program, str(folder)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.mark.parametrize("scheme", ["file", "http"])
def test_files_ask_for_others_in_vain(scheme, tmp_path):
    """No file but the drawing is opened and no socket is: an audit hook of Python's sees either."""
    (tmp_path / "secret.svg").write_text(f"{HEAD}{BOX}</svg>")
    secret = "http://127.0.0.1:9/secret.svg" if scheme == "http" else (tmp_path / "secret.svg").as_uri()
    asking = documents(secret)
    for name, (document, _) in asking.items():
        (tmp_path / f"drawing {name}.svg").write_text(document)

    assert watched(tmp_path) == [f"{name}: {asking[name][1]} []" for name in sorted(asking)]


def test_the_watch_sees_files_and_sockets(tmp_path):
    """A reader that did open another file, or a connection, would be seen."""
    (tmp_path / "drawing x.svg").write_text(f"{HEAD}{BOX}</svg>")
    spying = WATCHED.replace(
        "        read = read_drawing(drawing)",
        "        import socket\n        open(drawing.with_name('warm-up.svg')).close()\n"
        "        socket.socket().close()\n        read = read_drawing(drawing)",
    )
    (line,) = watched(tmp_path, spying)

    assert "warm-up.svg" in line
    assert "socket.__new__" in line
