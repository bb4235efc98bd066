"""The one way in which numbers become text: fixed digits, no exponent, no minus zero."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import OutputError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from convert.geometry.chain import Floats


def rounded(values: ArrayLike, digits: int) -> Floats:
    """Return `values` rounded to `digits` after the point, with no minus zero.

    *Errors*: OutputError (WRITE-001) when a number is not finite: no format can hold it.
    """
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise OutputError.because("WRITE-001", "a number to be written is not finite", "Please report this")
    return np.asarray(np.round(array, digits) + 0.0)


def fixed(value: float, digits: int) -> str:
    """Return `value` with at most `digits` after the point: `2.5`, `-0.000001`, `0`."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
