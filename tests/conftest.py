"""Makes the helper modules in tests/support importable, and two of its fixtures known to all tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "support"))

from command import run, squares  # noqa: F401 - fixtures
