"""Nearest points, by scipy's k-d tree; it is imported when a tree is first grown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shared.arrays import Array

if TYPE_CHECKING:
    from scipy.spatial import cKDTree


def tree_of(points: Array) -> cKDTree:
    """Return the k-d tree of `points` (n, d)."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy: a plain solve needs no tree

    return cKDTree(points)
