"""Looks at what the demo wrote, with nothing of the program itself: files, hashes, proof and sizes.

Sizes are measured by an SVG library and by GDAL, on the layers that are cut.
"""

import hashlib
import json
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pyogrio.raw
import shapely
from svgpathtools import parse_path

WIDTHS = {"small": 4 * 25.4, "medium": 6 * 25.4, "large": 9 * 25.4}
SVG = "{http://www.w3.org/2000/svg}"


def check(truth: object, words: str) -> None:
    """Stop with `words` unless `truth`."""
    if not truth:
        sys.exit(f"look.py: {words}")


def svg_box(path: Path) -> tuple[float, float]:
    """Return width and height (mm) of everything on cut layers, as an SVG library measures it."""
    root = ET.parse(path).getroot()
    check(root.get("width", "").endswith("mm"), f"{path}: its width has no unit")
    unit = float(root.get("width").removesuffix("mm")) / float(root.get("viewBox").split()[2])
    groups = [group for group in root.iter(f"{SVG}g") if group.get("id", "").startswith("CUT")]
    boxes = np.array([parse_path(p.get("d")).bbox() for group in groups for p in group.iter(f"{SVG}path")])
    check(len(boxes), f"{path}: nothing in it is cut")
    return (boxes[:, 1].max() - boxes[:, 0].min()) * unit, (boxes[:, 3].max() - boxes[:, 2].min()) * unit


def dxf_box(path: Path) -> tuple[float, float]:
    """Return width and height (mm) of everything on cut layers, as GDAL reads it (arcs as short lines)."""
    meta, _, shapes, columns = pyogrio.raw.read(path)
    layers = columns[list(meta["fields"]).index("Layer")].astype(str)
    cut = shapely.from_wkb(shapes[np.char.startswith(layers, "CUT")])
    check(len(cut), f"{path}: GDAL finds nothing in it that is cut")
    box = shapely.total_bounds(cut)
    return box[2] - box[0], box[3] - box[1]


def look_at(folder: Path) -> int:
    """Check one drawing's folder and return how many files it has."""
    manifest = json.loads((folder / "manifest.json").read_bytes())
    check(manifest["proof"]["passed"] is True, f"{folder}: not proved")
    check(manifest["proof"]["checked"] > 0, f"{folder}: nothing was checked")
    check(manifest["proof"]["largest_deviation"] < 1e-4, f"{folder}: files are off by too much")
    listed = {entry["path"]: entry["sha256"] for entry in manifest["files"]}
    there = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()} - {"manifest.json"}
    check(listed.keys() == there, f"{folder}: the manifest lists other files than there are")
    for name, digest in listed.items():
        found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        check(found == digest, f"{folder / name}: wrong hash")
    check({size["name"] for size in manifest["sizes"]} == set(WIDTHS), f"{folder}: sizes are missing")
    pieces = len(manifest["block"]["pieces"])
    for size in manifest["sizes"]:
        name, width, height = size["name"], WIDTHS[size["name"]], size["height"]
        check(abs(size["width"] - width) < 1e-4, f"{folder}: {name} is not as wide as asked")
        svg, dxf = svg_box(folder / name / "assembled.svg"), dxf_box(folder / name / "assembled-mm.dxf")
        check(np.allclose(svg, (width, height), rtol=0, atol=1e-4), f"{folder}: {name} is {svg} mm in SVG")
        # GDAL draws an arc as chords of at most 4 degrees, which lie inside it.
        check(np.allclose(dxf, (width, height), rtol=1e-3, atol=0), f"{folder}: {name} is {dxf} mm in DXF")
        cut = sum(sum(s["copies"].values()) for s in size["sheets"] if s["arrangement"] == "pieces")
        check(cut == pieces, f"{folder}: {name} cuts {cut} of {pieces} pieces")
    return len(listed)


def main(out: Path) -> None:
    """Check every drawing's folder in `out`."""
    folders = sorted(path.parent for path in out.glob("*/manifest.json"))
    check(len(folders) >= 3, f"{out} holds {len(folders)} converted drawings")
    files = sum(look_at(folder) for folder in folders)
    print(f"{len(folders)} drawings, {files} files, all as they should be")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
