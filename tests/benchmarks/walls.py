"""Walls of five parts, on one line and tilted, their derivatives, and every place within reach."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from benchmarks.measuring import Section, least, ratio, spent

from geometry.parts import Part
from geometry.placement import Placement
from geometry.regions import region_rates
from geometry.shapes.capsule import Capsule
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.walls.thinnest import close_walls, wall_rates, walls


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


def rates(parts: list[Part]) -> None:
    """Compute the derivatives of all moments and walls in every dimension."""
    dimensions = [(part.name, path) for part in parts for path in part.dimensions()]
    region_rates(parts, dimensions)
    wall_rates(walls(parts), parts, dimensions)


def places(parts: list[Part]) -> None:
    """Find the local minima of each part in its host, within 2 mm of the least."""
    named = {part.name: part for part in parts}
    for part in parts[1:]:
        close_walls(part, named[str(part.inside)], nested=True, reach=0.2)


WAYS: dict[str, Callable[[list[Part]], object]] = {
    "thinnest": walls,
    "and all derivatives": rates,
    "every place": places,
}


def sections() -> Iterator[Section]:
    """Yield the table; a wall that isn't what it must be fails."""
    rows = []
    for tilt in (0.0, 10.0):
        for girdle in (False, True):
            thickness = walls(scene(tilt, girdle=girdle))[0].thickness
            if abs(thickness - 1.4) > 1e-9:
                raise SystemExit("the wall of two balls is not the difference of their radii")
            took = least(
                {
                    name: lambda run=run, tilt=tilt, girdle=girdle: run(scene(tilt, girdle=girdle))
                    for name, run in WAYS.items()
                }
            )
            where = f"{'tilted' if tilt else 'on one line'}{', with a ring' if girdle else ''}"
            first = took["thinnest"]
            more = (f"{spent(s)} ({ratio(s, first)})" for s in list(took.values())[1:])
            rows.append((where, spent(first), *more))
    yield Section("Walls of five parts", ("parts", *WAYS), rows)
