"""Headless Chromium as a referee that shares nothing with us.

It is right about which elements are shown, in what colours and where, to a pixel.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from pathlib import Path


def chromium() -> str:
    """Return the browser's program; skip the test where there is none, but fail it in CI."""
    for name in ("chromium", "chromium-browser", "google-chrome", "chrome"):
        if program := shutil.which(name):
            return program
    if os.environ.get("CI"):
        pytest.fail("CI must have a Chromium for the tests marked 'browser'")
    pytest.skip("no Chromium on this machine")


def picture(folder: Path, page: str, width: int, height: int) -> Path:
    """Return a PNG of `page` (HTML), width x height pixels; the browser's own profile lies in `folder`."""
    file, png = folder / "page.html", folder / "page.png"
    file.write_text(page, "utf-8")
    command = [
        chromium(), "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
        "--disable-dev-shm-usage", "--force-device-scale-factor=1", "--force-color-profile=srgb",
        f"--user-data-dir={folder / 'profile'}", "--virtual-time-budget=10000",
        f"--window-size={width},{height}", f"--screenshot={png}", file.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, capture_output=True, timeout=120, check=True)
    return png


def measured(folder: Path, page: str) -> Any:
    """Return the JSON that the scripts of `page` (HTML) put into its <pre id="out">."""
    file = folder / "page.html"
    file.write_text(page, "utf-8")
    command = [
        chromium(), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
        "--virtual-time-budget=4000", "--dump-dom", file.as_uri(),
    ]  # fmt: skip
    run = subprocess.run(command, capture_output=True, text=True, timeout=90, check=True)
    return json.loads(unescape(re.search(r'<pre id="out">(.*?)</pre>', run.stdout)[1]))
