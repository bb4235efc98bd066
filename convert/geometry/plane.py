"""Points as complex numbers: turning, crossing and projecting are then one product each."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats

    Complexes: TypeAlias = NDArray[np.complex128]
    Ints: TypeAlias = NDArray[np.intp]
    Flags: TypeAlias = NDArray[np.bool_]


NO_LENGTH = 1e-300
"""A vector no longer than this has no direction that numbers could hold."""


def to_complex(points: Floats) -> Complexes:
    """Return points (..., 2) as x + iy (...,)."""
    out: Complexes = np.ascontiguousarray(points, dtype=np.float64).view(np.complex128)[..., 0]
    return out


def to_points(z: Complexes) -> Floats:
    """Return complex numbers (...,) as points (..., 2)."""
    out: Floats = np.ascontiguousarray(z)[..., None].view(np.float64)
    return out


def dot(u: Complexes, v: Complexes) -> Floats:
    """Return the scalar products u . v."""
    out: Floats = u.real * v.real + u.imag * v.imag
    return out


def cross(u: Complexes, v: Complexes) -> Floats:
    """Return the cross products u x v; exactly 0 when u is v, which a fused complex product is not."""
    out: Floats = u.real * v.imag - u.imag * v.real
    return out


def square(u: Complexes) -> Floats:
    """Return the squared lengths of vectors."""
    out: Floats = u.real * u.real + u.imag * u.imag
    return out


def unit(u: Complexes) -> Complexes:
    """Return vectors of length 1 in the same direction; a vector of (nearly) no length stays as it is."""
    size = np.abs(u)
    out: Complexes = u / np.where(size > NO_LENGTH, size, 1.0)
    return out
