"""Moments of one turned outline, exact, beside triangle meshes of the same outline (trimesh)."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from oracles.solids import curve  # noqa: E402 - after the path

from geometry.shapes.revolved import Revolved  # noqa: E402

OUTLINE = [[0, -7.6], [2.5, -7.6, 0.3], [4.6, -4.0, 0.15], [4.2, 3.0, 0.1], [2.0, 7.4], [0, 7.4]]
REPEATS = 9


def mesh(triangles: int) -> trimesh.Trimesh:
    """Return a closed mesh of about so many triangles, arcs in chords, turned in steps."""
    chords = max(2, round((triangles / 24) ** 0.5))
    points = curve("revolved", {"outline": OUTLINE}, chords)
    points = points[np.concatenate([[True], np.any(np.diff(points, axis=0) != 0, axis=1)])]
    steps = max(8, triangles // (2 * (len(points) - 2)))
    return trimesh.creation.revolve(points[points[:, 0] >= 0], sections=steps)


def median(run: Callable[[], object]) -> float:
    """Return the median time of a run, s."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def exact() -> np.ndarray:
    """Return volume, and inertia across and along the axis about the origin."""
    moments = Revolved.model_validate({"kind": "revolved", "outline": OUTLINE}).moments()
    return np.array([moments.volume, moments.inertia[0, 0], moments.inertia[2, 2]])


def of_mesh(solid: trimesh.Trimesh) -> np.ndarray:
    """Return the same of a mesh, computed afresh."""
    solid._cache.clear()
    centre, mass = solid.center_mass, solid.volume
    about = solid.moment_inertia + mass * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    return np.array([mass, about[0, 0], about[2, 2]])


def main() -> None:
    """Print the figures; a finer mesh must come nearer, or the program fails."""
    known, took = exact(), median(exact)
    print(f"{'outline, exact (with its checks)':34} {1e3 * took:8.3f} ms")
    errors = []
    for triangles in (5_000, 50_000):
        solid = mesh(triangles)
        slow = median(lambda solid=solid: of_mesh(solid))
        errors.append(float(np.max(np.abs(of_mesh(solid) / known - 1.0))))
        name = f"mesh of {len(solid.faces)} triangles"
        print(f"{name:34} {1e3 * slow:8.3f} ms  {slow / took:6.1f}×   error {errors[-1]:.1e}")
    if not 0.0 < errors[1] < errors[0] < 0.05:
        sys.exit("the meshes do not converge to the outline's moments")


if __name__ == "__main__":
    main()
