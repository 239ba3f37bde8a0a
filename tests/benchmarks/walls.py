"""Walls of five parts, on one line and tilted, their derivatives, and every place within reach."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from geometry.parts import Part  # noqa: E402 - after the path
from geometry.placement import Placement  # noqa: E402
from geometry.regions import region_rates  # noqa: E402
from geometry.shapes.capsule import Capsule  # noqa: E402
from geometry.shapes.cylinder import Cylinder  # noqa: E402
from geometry.shapes.ring import Ring  # noqa: E402
from geometry.shapes.sphere import Sphere  # noqa: E402
from geometry.shapes.spheroid import Spheroid  # noqa: E402
from geometry.walls.thinnest import close_walls, wall_rates, walls  # noqa: E402

REPEATS = 9


def scene(tilt: float, *, girdle: bool) -> list[Part]:
    """Return five parts within each other, or four and a ring round one, afresh."""
    rotate = (tilt, 0.0, 0.0)
    last = (
        Part("girdle", "mantle", Ring(diameter=11.7, thickness=2.0), Placement(rotate=rotate))
        if girdle
        else Part("slug", "keel", Cylinder(diameter=2.5, height=5.0), Placement(rotate=rotate))
    )
    raised = Placement((0.0, 0.0, 0.8), rotate)
    return [
        Part("cover", None, Sphere(diameter=21.8), Placement()),
        Part("mantle", "cover", Sphere(diameter=19.0), Placement()),
        Part("spindle", "mantle", Spheroid(diameter=8.4, height=15.5), raised),
        Part("keel", "spindle", Capsule(diameter=5.6, height=12.7), raised),
        last,
    ]


def median(make: Callable[[], list[Part]], run: Callable[[list[Part]], object]) -> float:
    """Return the median time of a run on parts that are made afresh, ms."""
    times = []
    for _ in range(REPEATS):
        parts = make()
        start = time.perf_counter()
        run(parts)
        times.append(time.perf_counter() - start)
    return 1e3 * statistics.median(times)


def rates(parts: list[Part]) -> None:
    """Compute the derivatives of all moments and walls in every dimension."""
    dimensions = [(part.name, path) for part in parts for path in part.dimensions()]
    region_rates(parts, dimensions)
    wall_rates(walls(parts), parts, dimensions)


def pools(parts: list[Part]) -> None:
    """Find the local minima of each part in its host, within 2 mm of the least."""
    named = {part.name: part for part in parts}
    for part in parts[1:]:
        close_walls(part, named[str(part.inside)], nested=True, reach=0.2)


def main() -> None:
    """Print the figures; fails when a wall isn't what it must be."""
    for tilt in (0.0, 10.0):
        for girdle in (False, True):
            where = f"{'tilted' if tilt else 'on one line'}{', with a ring' if girdle else ''}"
            for name, run in (("walls", walls), ("and all derivatives", rates), ("places", pools)):
                took = median(lambda tilt=tilt, girdle=girdle: scene(tilt, girdle=girdle), run)
                print(f"{where:26} {name:20} {took:8.2f} ms")
            if abs(walls(scene(tilt, girdle=girdle))[0].thickness - 1.4) > 1e-9:
                sys.exit("the wall of two balls is not the difference of their radii")


if __name__ == "__main__":
    main()
