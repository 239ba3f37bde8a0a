"""A million balls of 6 densities, 2 positions and a diameter: ours beside numpy's eigenvalues.

Both make the same balls of the same samples, piece by piece in turn: weight, three RGs, both
differentials, top weight and the CG's offset. Numpy's road is the plain one: each ball's 4×4
moments, its inertia about the centre of gravity, `eigvalsh`. Times are of a million at the median
piece. Told apart: the low-RG axis's angle, which only ours gives, the samples, and the memory.
"""

from __future__ import annotations

import resource
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from optimizer_texts import read, shipped  # noqa: E402 - after the path

from geometry.mass_properties import radii_of  # noqa: E402
from optimizer.questions.tolerance.inputs import Inputs, stated_inputs  # noqa: E402
from optimizer.questions.tolerance.model import Model  # noqa: E402
from optimizer.scenario import linear_maps  # noqa: E402
from optimizer.spread.sources import AT_ONCE, POINTS, REPEATS  # noqa: E402

NIB = """
[[parts]]
name     = "nib"
inside   = "keel"
shape    = { kind = "sphere", diameter = 1.0 }
at       = [0, 0, 0.6]
material = "dense"
"""
SPREAD = """
[spread]
position = { keel = { x = 0.01, z = 0.02 } }
diameter = 0.005
"""
DENSITIES = {"cover": 1.17, "mantle": 0.85, "spindle": 1.6, "keel": 2.4, "girdle": 1.5, "nib": 2.2}
TOTAL = REPEATS * POINTS
ASKED, SAME = 15.0, 1e-9
MOST = 300.0
"""MB of memory, over what was taken before the first ball."""


def model() -> tuple[Model, Inputs]:
    """Return Juniper's 15 lb ball, a sixth part in it, and its nine inputs."""
    juniper, _, rest = shipped("juniper").partition("[limits]")
    scenario = read(f"{juniper}{NIB}[limits]{rest}{SPREAD}")
    inputs = Inputs.of(scenario, stated_inputs(scenario))
    label = "15"
    (linear_map,) = (one for one in linear_maps(scenario) if one.label == label)
    densities = np.array([DENSITIES[pour.part] for pour in linear_map.pours])
    ball = linear_map.ball(densities)
    return Model(scenario, ball, inputs.own[label], inputs.columns[label]), inputs


def ours(model: Model, deviations: np.ndarray) -> list[np.ndarray]:
    """Return weight, the three RGs, both differentials, top weight and the CG's offset (k,)."""
    balls = model.balls(deviations)
    low, between, high = balls.radii
    apart = [balls.mass, low, between, high, high - low, high - between]
    return [*apart, balls.first / model.ball.map.arm, balls.offset]


def plain(model: Model, deviations: np.ndarray) -> list[np.ndarray]:
    """Return the same."""
    rho = model.densities(deviations)
    J = np.tensordot(rho, model.ball.map.moments, axes=1)
    for k, (column, _) in enumerate(model._placed):
        by = deviations[:, column, None, None]
        for power, bent in ((by, model._bent[0][k]), (by * by, model._bent[1][k])):
            full = np.zeros((len(bent), 4, 4))
            full[:, *np.triu_indices(4)] = bent
            J += power * np.tensordot(rho, full + np.triu(full, 1).transpose(0, 2, 1), axes=1)
    radii, first = radii_of(J, "cg"), np.linalg.norm(J[:, :3, 3], axis=1)
    low, between, high = np.asarray(radii).T
    apart = [J[:, 3, 3], low, between, high, high - low, high - between]
    return [*apart, first / model.ball.map.arm, first / J[:, 3, 3]]


def timed(run: Callable[[], object]) -> float:
    """Return how long it takes for a million balls, s, if one run makes a piece of them."""
    start = time.perf_counter()
    run()
    return (time.perf_counter() - start) * TOTAL / AT_ONCE


def memory() -> float:
    """Return the most memory that this process has had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main() -> None:
    """Print the figures; balls that differ fail the program."""
    made, inputs = model()
    pieces = inputs.sources.samples()
    _, deviations = next(pieces)
    ours(made, deviations)  # imports, and the moments of the displaced moulds, once
    before = memory()
    times = dict[str, list[float]](ours=[], angle=[], sampling=[], plain=[])
    for k in range(1, TOTAL // AT_ONCE):
        times["sampling"].append(timed(lambda: next(pieces)))
        times["ours"].append(timed(lambda: ours(made, deviations)))
        balls = made.balls(deviations)
        balls.radii  # noqa: B018 - all but the angle
        times["angle"].append(timed(lambda balls=balls: balls.tilt))
        used = memory() - before
        if k % 8 == 0:
            times["plain"].append(timed(lambda: plain(made, deviations)))
    took = {name: statistics.median(each) for name, each in times.items()}
    pairs = zip(ours(made, deviations), plain(made, deviations), strict=True)
    off = max(float(np.max(np.abs(a - b)) / np.mean(ours(made, deviations)[1])) for a, b in pairs)
    faster = f"{took['plain'] / took['ours']:6.1f} times as many a second (asked: {ASKED:.0f})"
    print(f"{TOTAL} balls of {len(inputs.each)} inputs")
    print(f"numpy and eigvalsh    {took['plain']:7.3f} s")
    print(f"ours                  {took['ours']:7.3f} s  {faster}")
    print(f"the low-RG axis, more {took['angle']:7.3f} s")
    print(f"sampling              {took['sampling']:7.3f} s")
    print(f"memory, of ours       {used:7.0f} MB, of {memory():.0f} (asked: at most {MOST:.0f})")
    print(f"farthest apart        {off:7.0e} of an RG")
    if off > SAME:
        sys.exit("the two roads differ")


if __name__ == "__main__":
    main()
