"""Types of arrays, and read-only arrays."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Mask: TypeAlias = npt.NDArray[np.bool_]
Index: TypeAlias = npt.NDArray[np.intp]


def frozen(values: npt.ArrayLike) -> Array:
    """Return `values` as a new read-only float array."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array
