"""What reading takes, process time beyond imports: at first, and once it is remembered."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import trimesh
from benchmarks.measuring import ROOT, Section, ratio, spent
from oracles import meshes

CUTS = ROOT / "tests" / "benchmarks" / "lines" / "cuts.toml"
LINDEN = ROOT / "scenarios" / "linden.toml"
REPEATS = 3
MESH = """
[[parts]]
name = "{name}"
inside = "mantle"
material = "filled"
shape = {{ kind = "mesh", file = "{name}.stl", unit = "mm" }}
at = [{at}, 0, 0]
"""
READ = """
import sys, time
from pathlib import Path
from optimizer.scenario import read_scenario
from shared import remembered
remembered.use(Path(sys.argv[2]))
import scipy.spatial, scipy.sparse.csgraph
start = time.process_time()
read_scenario(sys.argv[1], target_required=False)
print(time.process_time() - start)
"""


def block(triangles: int, size: float) -> bytes:
    """Return the STL of a block with waves round it, of about so many triangles."""
    around = round((triangles / 2) ** 0.5)
    polar = np.linspace(-np.pi / 2, np.pi / 2, around + 1)
    r = np.cos(polar) * (4 + 0.6 * np.cos(6 * polar))
    r[[0, -1]] = 0.0
    body = meshes.lathe(size * np.column_stack([r, 7 * np.sin(polar)]), around)
    body.merge_vertices(digits_vertex=7)
    body.update_faces(body.nondegenerate_faces())
    body.vertices *= [1.0, 0.8, 1.0]
    return meshes.stl(trimesh.Trimesh(body.vertices, body.faces, process=False), 0.1)


def two_meshes(folder: Path) -> Path:
    """Write a scenario with 5000 triangles beside 50 000, and return its path."""
    text, _, _ = CUTS.read_text(encoding="utf-8").partition('[[parts]]\nname = "block"')
    for name, count, size, at in (("left", 5_000, 0.45, -1.3), ("right", 50_000, 0.6, 1.0)):
        (folder / f"{name}.stl").write_bytes(block(count, size))
        text += MESH.format(name=name, at=at)
    path = folder / "two.toml"
    path.write_text(f"{text}\n[limits]\nwall = {{ min = 0.1, tolerance = 0.02 }}\n")
    return path


def took(path: Path, cache: Path) -> float:
    """Return the process time of reading in a process of its own, s."""
    command = [sys.executable, "-c", READ, str(path), str(cache)]
    done = subprocess.run(command, capture_output=True, check=True, text=True, cwd=ROOT)
    return float(done.stdout)


def sections() -> Iterator[Section]:
    """Yield the table, of the least of a few times; what is remembered must be quicker."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for path in (CUTS, LINDEN, two_meshes(folder)):
            first = min(took(path, folder / f"{path.stem}{k}") for k in range(REPEATS))
            after = min(took(path, folder / f"{path.stem}0") for _ in range(REPEATS))
            if after > first:
                raise SystemExit("remembering is slower than reading")
            rows.append((path.stem, spent(first), spent(after), ratio(after, first)))
    yield Section("Reading a scenario", ("scenario", "at first", "remembered", "× at first"), rows)
