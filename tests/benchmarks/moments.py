"""Moments of an outline of 40 edges, exact, beside the same solid in triangles and as CAD faces."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib.util import find_spec

import numpy as np
import trimesh
from benchmarks.measuring import Section, exponent, least, ratio, spent
from oracles import bars, meshes, quadrature
from oracles.solids import curve
from trimesh.triangles import mass_properties

from geometry.mesh.solid import polyhedron_moments
from geometry.mesh.sound import solid
from geometry.shapes.extruded import Extruded
from geometry.shapes.revolved import Revolved

EDGES = 40
SIZES = (5_000, 50_000, 500_000)
FINE = 0.05
"""The largest error of a mesh, as a share, that is still the outline's."""


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


def off(found: np.ndarray, known: np.ndarray) -> float:
    """Return the largest error of a volume or a second moment, as a share."""
    return float(np.max(np.abs(np.diag(found) / np.diag(known) - 1)))


def by_kernel(points: list[list[float]]) -> Callable[[], np.ndarray] | None:
    """Return what integrates the same solid as a CAD kernel's faces, None if not installed."""
    if not find_spec("OCP"):
        return None
    from kernel import turned_shape  # noqa: PLC0415 - only where the kernel is

    from geometry.mesh.step import CM, _integrated  # noqa: PLC0415

    shape = turned_shape([[p[0] / CM, p[1] / CM, *p[2:]] for p in points])
    return lambda: _integrated(shape)


def _rows(
    name: str, block: Revolved | Extruded, mesh: Callable[[int], np.ndarray]
) -> Iterator[tuple[str, ...]]:
    """Yield the rows of a solid; a finer mesh must come nearer, or the program fails."""
    known, errors, counts = block.moments().J, list[float](), list[int]()
    points = [list(p) for p in block.outline]
    independent = quadrature.moments("revolved", {"outline": points}) if name == "turned" else known
    kernel = by_kernel(points) if name == "turned" else None
    ways: dict[str, Callable[[], object]] = {"": block.moments}
    ways |= {"kernel": kernel} if kernel else {}
    took = least(ways)
    closed = took[""]
    yield f"{name}: closed form", "", spent(closed), "1×", f"{off(known, independent):.0e}"
    if kernel:
        error = f"{off(kernel(), known):.0e}"
        yield f"{name}: CAD kernel", "", spent(took["kernel"]), ratio(took["kernel"], closed), error
    for size in SIZES:
        corners = mesh(size)
        took = least(
            {
                "mesh": lambda corners=corners: polyhedron_moments(corners),
                "mesh, by trimesh": lambda corners=corners: mass_properties(corners),
            },
            runs=3,
        )
        errors.append(off(polyhedron_moments(corners).J, known))
        counts.append(len(corners))
        for way, seconds in took.items():
            said = f"{name}: {way}", f"{counts[-1]}", spent(seconds), ratio(seconds, closed)
            yield *said, f"{errors[-1]:.0e}"
    if errors[0] > FINE or np.any(np.diff(errors) > 0.0):
        raise SystemExit(f"the meshes do not converge to the {name} outline's moments")
    yield f"{name}: error by triangles, exponent", "", "", "", f"{exponent(counts, errors):.2f}"


def sections() -> Iterator[Section]:
    """Yield the table."""
    block, bar = Revolved.model_validate({"outline": outline()}), Extruded.example()
    rows = list(_rows("turned", block, lambda n: turned(outline(), n)))
    rows += _rows("extruded", bar, lambda n: barred([list(p) for p in bar.outline], n))
    content = meshes.stl(trimesh.Trimesh(*unified(turned(outline(), SIZES[0])), process=False), 0.1)
    read = least({"": lambda: solid("block.stl", content, "mm")})[""]
    rows.append(("turned: mesh file, read and checked", str(SIZES[0]), spent(read), "", ""))
    yield Section(
        f"Moments of an outline of {EDGES} edges, half of them arcs, and of a bar",
        ("solid and way", "triangles", "time", "× closed form", "error, share"),
        rows,
        "The closed form of the turned one is held against quadrature, all others against it."
        + ("" if find_spec("OCP") else " The CAD kernel (extra step) is not installed."),
    )
