"""Derivatives by differences, and values within nested plain data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

Path = Sequence[str | int]


def central(f: Callable[[float], Any], step: float = 1e-4) -> np.ndarray:
    """Return f'(0) from four values; f may be an array. Exact for polynomials up to degree 4."""
    far, near = f(2 * step) - f(-2 * step), f(step) - f(-step)
    return np.asarray((8 * near - far) / (12 * step))


def value_at(data: Any, path: Path) -> Any:
    """Return what stands at `path` in dictionaries and tuples within each other."""
    for key in path:
        data = data[key]
    return data


def with_value(data: Any, path: Path, value: Any) -> Any:
    """Return a copy of `data` in which `value` stands at `path`."""
    if not path:
        return value
    if isinstance(data, dict):
        return {**data, path[0]: with_value(data[path[0]], path[1:], value)}
    return tuple(with_value(v, path[1:], value) if i == path[0] else v for i, v in enumerate(data))
