"""Headless Chromium looks at many drawings in one go, each as a file of its own, and tells what it shows.

It is right about style, visibility, matrices, and what is seen at a point (`elementFromPoint` goes by
clip paths, viewports and fill rules). Lengths along paths it has in single precision, and arcs as cubics.
"""

from __future__ import annotations

import html
import json
import subprocess
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any

from browser import chromium

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

SIZE = 400
STEP = 10
"""Points are asked for on a grid of so many px, half a step from the edges and a little off round numbers."""
OFF = 0.37
SAMPLES = 48

LOOK = """
const NS = 'http://www.w3.org/2000/svg';
const SHAPES = ['path', 'rect', 'circle', 'ellipse', 'line', 'polyline', 'polygon'];
const UNDRAWN = ['defs', 'symbol', 'clipPath', 'mask', 'pattern', 'marker'];
function look(doc) {
  const counts = {}, names = new Map(), shapes = [];
  const view = doc.defaultView;
  for (const el of doc.querySelectorAll('*')) {
    if (el.namespaceURI !== NS) continue;
    const tag = el.localName;
    counts[tag] = (counts[tag] || 0) + 1;
    names.set(el, el.id || tag + '[' + counts[tag] + ']');
  }
  for (const [el, name] of names) {
    const use = el.localName === 'use';
    if (!SHAPES.includes(el.localName) && !use) continue;
    let up = el, drawn = el.getClientRects().length > 0, opacity = 1;
    while (up && up.namespaceURI === NS) {
      const own = view.getComputedStyle(up);
      if (UNDRAWN.includes(up.localName) || own.display === 'none') drawn = false;
      if (own.display !== 'contents') opacity *= Number(own.opacity);
      up = up.parentElement;
    }
    const style = view.getComputedStyle(el), m = el.getScreenCTM();
    const row = {name, tag: el.localName, drawn: drawn && !!m, opacity};
    for (const key of ['visibility', 'fill', 'stroke', 'strokeWidth', 'fillOpacity', 'strokeOpacity',
                       'fillRule', 'vectorEffect'])
      row[key] = style[key];
    row.matrix = m ? [m.a, m.b, m.c, m.d, m.e, m.f] : null;
    if (row.drawn) {
      const box = el.getBBox();
      row.box = [box.x, box.y, box.x + box.width, box.y + box.height];
      if (!use) {
        const length = el.getTotalLength();
        row.length = length;
        row.points = [];
        if (length > 0) for (let i = 0; i <= SAMPLES; i++) {
          const p = el.getPointAtLength(length * i / SAMPLES);
          row.points.push([p.x, p.y]);
        }
      }
    }
    shapes.push(row);
  }
  const seen = [];
  for (let y = STEP / 2 + OFF; y < SIZE; y += STEP) {
    const row = [];
    for (let x = STEP / 2 + OFF; x < SIZE; x += STEP) {
      const el = doc.elementFromPoint(x, y);
      row.push(el && SHAPES.concat(['use']).includes(el.localName) ? names.get(el) ?? null : null);
    }
    seen.push(row);
  }
  return {shapes, seen};
}
"""

INDEX = """<!DOCTYPE html><body style="margin:0"><script>
const SAMPLES = {samples}, STEP = {step}, OFF = {off}, SIZE = {size}, NAMES = {names};
{look}
async function main() {{
  const all = {{}};
  for (let i = 0; i < NAMES.length; i++) {{
    // One at a time: hundreds of frames in one page are slow.
    const frame = document.createElement('iframe');
    frame.width = frame.height = SIZE;
    frame.style.border = 0;
    const loaded = new Promise(done => frame.onload = done);
    frame.src = '/' + i + '.svg';
    document.body.replaceChildren(frame);
    await loaded;
    const doc = frame.contentDocument;
    try {{
      const broken = doc.querySelector('parsererror');
      all[NAMES[i]] = broken ? {{error: broken.textContent}} : look(doc);
    }} catch (fault) {{
      all[NAMES[i]] = {{error: String(fault)}};
    }}
  }}
  const out = document.createElement('pre');
  out.id = 'seen';
  out.textContent = JSON.stringify(all);
  document.body.replaceChildren(out);
}}
main();
</script></body>"""


class Files(BaseHTTPRequestHandler):
    """Serves the drawings and the page that looks at them."""

    files: Mapping[str, tuple[str, bytes]] = {}

    def do_GET(self) -> None:
        """Answer with a file."""
        found = self.files.get(self.path)
        if found is None:
            self.send_error(404)
            return
        kind, data = found
        self.send_response(200)
        self.send_header("Content-Type", kind)
        if data[:2] == b"\x1f\x8b":
            self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


def look_at(folder: Path, documents: Mapping[str, bytes]) -> dict[str, Any]:
    """Return what a browser shows of each document: its shapes, and which is seen at each point of a grid."""
    program = chromium()
    names = list(documents)
    index = INDEX.format(look=LOOK, samples=SAMPLES, step=STEP, off=OFF, size=SIZE, names=json.dumps(names))
    handler = type("Handler", (Files,), {"files": {
        "/": ("text/html;charset=utf-8", index.encode()),
        **{f"/{i}.svg": ("image/svg+xml", documents[name]) for i, name in enumerate(names)},
    }})  # fmt: skip
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        done = subprocess.run(
            [
                program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                "--disable-dev-shm-usage", "--force-device-scale-factor=1", "--lang=en-US",
                f"--user-data-dir={folder / 'profile'}", "--virtual-time-budget=60000", "--dump-dom",
                f"http://127.0.0.1:{server.server_port}/",
            ],
            capture_output=True, text=True, timeout=180, check=True,
        )  # fmt: skip
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
    start = done.stdout.index('<pre id="seen">') + len('<pre id="seen">')
    result: dict[str, Any] = json.loads(
        html.unescape(done.stdout[start : done.stdout.index("</pre>", start)])
    )
    return result
