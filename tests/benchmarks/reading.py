"""What reading takes, s of process time beyond imports: at first, and once it is remembered."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import trimesh  # noqa: E402 - after the path
from oracles import meshes  # noqa: E402

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


def main() -> None:
    """Print the least of a few times; what is remembered must be quicker."""
    print("Reading a scenario, s of process time: at first, and remembered")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for path in (CUTS, LINDEN, two_meshes(folder)):
            first = min(took(path, folder / f"{path.stem}{k}") for k in range(REPEATS))
            after = min(took(path, folder / f"{path.stem}0") for _ in range(REPEATS))
            print(f"  {path.name:12} {first:6.2f} {after:6.2f}")
            if after > first:
                raise SystemExit("remembering is slower than reading")


if __name__ == "__main__":
    main()
