"""Triangulated solids: moments from flat triangles, which approach the true ones as they shrink."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import trimesh
from oracles import bars
from oracles.solids import Dimensions, curve


def lathe(points: np.ndarray, around: int) -> trimesh.Trimesh:
    """Return the mesh of a closed curve (k, 2) in r and z, turned in `around` steps."""
    count = len(points)
    angle = np.arange(around) * 2 * np.pi / around
    vertices = np.stack(
        [
            np.outer(np.cos(angle), points[:, 0]),
            np.outer(np.sin(angle), points[:, 0]),
            np.broadcast_to(points[:, 1], (around, count)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    step, along = np.meshgrid(np.arange(around), np.arange(count), indexing="ij")
    a, b = step * count + along, step * count + (along + 1) % count
    c, d = (
        ((step + 1) % around) * count + along,
        ((step + 1) % around) * count + (along + 1) % count,
    )
    faces = np.concatenate([np.stack([a, c, b], axis=-1), np.stack([b, c, d], axis=-1)])
    return trimesh.Trimesh(vertices, faces.reshape(-1, 3), process=False)


def mesh(kind: str, dimensions: Dimensions, n: int) -> trimesh.Trimesh:
    """Return the mesh of a solid in its own axes, n chords to an arc and 4n steps around."""
    match kind:
        case "box":
            return trimesh.creation.box(extents=dimensions["size"])
        case "ellipsoid":
            ball = lathe(curve("sphere", {"diameter": 1.0}, n), 4 * n)
            ball.apply_scale(dimensions["diameters"])
            return ball
        case "extruded":
            return bars.mesh(dimensions, n)
        case "mesh":
            return waist()
    return lathe(curve(kind, dimensions, n), 4 * n)


def waist() -> trimesh.Trimesh:
    """Return the example of a mesh: two pieces of pyramids, each the hull of its rectangles."""
    levels = [((2.5, 2.0), -3.5), ((1.5, 1.25), 0.0), ((2.0, 2.5), 3.0)]
    corners = [[(x * a, y * b, z) for x in (-1, 1) for y in (-1, 1)] for (a, b), z in levels]
    pieces = [trimesh.convex.convex_hull(low + high) for low, high in pairwise(corners)]
    both = trimesh.util.concatenate(pieces)
    both.merge_vertices()
    level = np.all(np.abs(both.triangles[:, :, 2]) < 1e-12, axis=1)
    both.update_faces(~level)  # the rectangle that they share
    both.process()
    return both


def stl(body: trimesh.Trimesh, unit: float = 1.0) -> bytes:
    """Return the binary STL of a mesh in cm, written in a unit of so many cm."""
    rows = np.zeros(
        len(body.faces), dtype=[("normal", "<f4", 3), ("p", "<f4", (3, 3)), ("", "<u2")]
    )
    rows["p"] = body.triangles / unit
    return bytes(80) + len(rows).to_bytes(4, "little") + rows.tobytes()


def tetrahedron(vertices: np.ndarray) -> trimesh.Trimesh:
    """Return the mesh of a tetrahedron (4, 3), its faces outward."""
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    if np.linalg.det(vertices[1:] - vertices[0]) < 0:
        faces = faces[:, ::-1]
    return trimesh.Trimesh(vertices, faces, process=False)


def moments(body: trimesh.Trimesh) -> np.ndarray:
    """Return ∫ [x y z 1]ᵀ [x y z 1] dV, (4, 4), from a mesh's volume, centroid and inertia."""
    volume, centroid, inertia = body.volume, np.array(body.center_mass), body.moment_inertia
    second = np.trace(inertia) / 2 * np.eye(3) - inertia + volume * np.outer(centroid, centroid)
    J = np.empty((4, 4))
    J[:3, :3] = second
    J[:3, 3] = J[3, :3] = volume * centroid
    J[3, 3] = volume
    return J
