"""Moments of an outline of 40 edges, exact, beside the same solid in triangles; and their rate."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import trimesh
from trimesh.triangles import mass_properties

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from benchmarks.moments import median  # noqa: E402 - after the path
from oracles import bars, meshes, quadrature  # noqa: E402
from oracles.solids import curve  # noqa: E402

from geometry.mesh.solid import polyhedron_moments  # noqa: E402
from geometry.mesh.sound import solid  # noqa: E402
from geometry.shapes.extruded import Extruded  # noqa: E402
from geometry.shapes.revolved import Revolved  # noqa: E402

EDGES = 40
SIZES = (5_000, 50_000, 500_000)


def outline() -> list[list[float]]:
    """Return a wavy block's half outline, every other edge an arc."""
    polar = np.linspace(-np.pi / 2, np.pi / 2, EDGES)
    r = np.cos(polar) * (4 + 0.3 * np.cos(6 * polar))
    bulge = np.where(np.arange(EDGES) % 2, 0.1, 0.0)
    points = np.column_stack([np.round(r, 6), np.round(7 * np.sin(polar), 6), bulge])
    points[[0, -1], 0] = 0.0
    points[-1, 2] = 0.0
    return [p if p[2] else p[:2] for p in points.tolist()]


def turned(points: list[list[float]], triangles: int) -> np.ndarray:
    """Return the corners of a mesh of about so many triangles."""
    arcs = max(1, round((triangles / EDGES / 40) ** 0.5))
    ring = curve("revolved", {"outline": points}, arcs)
    return np.asarray(meshes.lathe(ring, max(12, triangles // (2 * len(ring)))).triangles)


def barred(points: list[list[float]], triangles: int) -> np.ndarray:
    """Return the corners of a bar's mesh of about so many triangles."""
    return np.asarray(bars.mesh({"outline": points, "height": 7.0}, triangles // 8).triangles)


def unified(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices and faces of corners, those in one place being one."""
    vertices, which = np.unique(
        np.round(corners.reshape(-1, 3), 7) + 0.0, axis=0, return_inverse=True
    )
    return vertices, which.reshape(-1, 3)


def by_trimesh(corners: np.ndarray) -> float:
    """Return the volume that trimesh's mass properties give, computed afresh."""
    return float(mass_properties(corners, skip_inertia=False)["volume"])


def off(found: np.ndarray, known: np.ndarray) -> float:
    """Return the largest error of a volume or a second moment, as a share."""
    return float(np.max(np.abs(np.diag(found) / np.diag(known) - 1)))


def main() -> None:
    """Print the figures; a finer mesh must come nearer at its own rate, or the program fails."""
    points = outline()
    block = Revolved.model_validate({"outline": points})

    known = block.moments().J
    independent = quadrature.moments("revolved", {"outline": points})
    took = median(block.moments)
    print(f"Revolved outline of {EDGES} edges, and the same in triangles")
    print(f"  {'outline':>16}  {1e6 * took:9.0f} µs            error {off(known, independent):.1e}")
    bar = Extruded.example()
    for name, mesh, truth in (
        ("revolved", lambda n: turned(points, n), known),
        ("extruded", lambda n: barred([list(p) for p in bar.outline], n), bar.moments().J),
    ):
        errors, counts = [], []
        for size in SIZES:
            corners = mesh(size)
            own = median(lambda corners=corners: polyhedron_moments(corners))
            theirs = median(lambda corners=corners: by_trimesh(corners))
            found = polyhedron_moments(corners).J
            errors.append(off(found, truth))
            counts.append(len(corners))
            print(
                f"  {name}, {len(corners):7d} tr. {1e6 * own:8.0f} µs {own / took:7.0f} times; "
                f"trimesh {1e6 * theirs:8.0f} µs {theirs / took:6.0f} times; error {errors[-1]:.1e}"
            )
            if errors[-1] > 0.05:
                raise SystemExit("the mesh isn't the outline's")
            if (
                size == SIZES[0] and name == "revolved"
            ):  # a bar's oracle is right in signed sums only
                content = meshes.stl(trimesh.Trimesh(*unified(corners), process=False), 0.1)
                read = median(lambda content=content: solid("block.stl", content, "mm"))
                print(f"  {name}, read from its file and checked {1e3 * read:8.0f} ms")
        rates = -np.diff(np.log(errors)) / np.diff(np.log(counts))
        print(f"  {name}: the error falls as the number of triangles to −{rates.mean():.2f}")


if __name__ == "__main__":
    main()
