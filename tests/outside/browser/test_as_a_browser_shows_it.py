"""The reader sees a drawing as a browser draws it. Source of truth: headless Chromium, on files of our own.

Left out, because browsers differ from each other or from what serves a designer: a page that states only one
of width and height (its window decides then), a viewBox without size (nothing is drawn, but it is still found
at points), and the page's edge, which cuts nothing off here: a block that reaches over it is taken whole.
"""

from __future__ import annotations

from typing import Any

import pytest
from comparing import read, same_elements, same_geometry, same_instances, same_paint, same_picture
from documents import CASCADE, ORIGINS, SHOWN, TRANSFORMS
from documents_exports import CONTENTS, CUTS, NESTING, SEPARATE, VARIABLES
from documents_places import CLIPS, FILES, LENGTHS, PATHS, SHAPES, USES, VIEWPORTS
from referee import look_at

GROUPS = (
    CASCADE, SHOWN, TRANSFORMS, ORIGINS, VIEWPORTS, USES, LENGTHS, SHAPES, PATHS, CLIPS, FILES,
    NESTING, VARIABLES, SEPARATE, CONTENTS, CUTS,
)  # fmt: skip
DOCUMENTS = {name: data for group in GROUPS for name, data in group.items()}

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def seen(tmp_path_factory) -> dict[str, Any]:
    """Return what the browser shows of every document, by its name."""
    return look_at(tmp_path_factory.mktemp("browser"), DOCUMENTS)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_drawing_is_read_as_a_browser_shows_it(name: str, seen) -> None:
    """The same shapes in the same order, paint, place and size, and the same shape on top at 1,600 points."""
    browser = seen[name]
    assert "error" not in browser, browser["error"]
    ours, rows = read(DOCUMENTS[name]), browser["shapes"]
    same_elements(ours, rows, browser["seen"])
    same_paint(ours, rows)
    same_geometry(ours, rows)
    same_instances(ours, rows)
    same_picture(ours, rows, browser["seen"])


def test_there_are_enough_documents_and_something_in_each(seen) -> None:
    """Over 120 documents, no two alike, and together the browser sees a thousand shapes in them."""
    assert len(DOCUMENTS) == sum(len(group) for group in GROUPS) >= 120
    assert len(set(DOCUMENTS.values())) == len(DOCUMENTS)
    assert sum(len(browser["shapes"]) for browser in seen.values()) > 800
    points = [name for browser in seen.values() for row in browser["seen"] for name in row if name]
    assert len(points) > 10_000
