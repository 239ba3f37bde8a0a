"""A million balls of 6 densities, 2 positions and a diameter: ours beside numpy's eigenvalues.

Both make the same balls of the same samples, a piece at a time: weight, three RGs, both
differentials, the CG's offset and the low-RG axis's angle. Numpy's road is the plain one: each
ball's 4×4 moments, its inertia about the centre of gravity, and `eigvalsh` of that; of axes it
tells nothing. How long the samples themselves take is told apart, and how much memory all took.
"""

from __future__ import annotations

import resource
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
TOTAL = 1 << 20
ASKED = 15.0
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


def ours(model: Model, deviations: np.ndarray) -> np.ndarray:
    """Return all figures (k, 9)."""
    return np.column_stack(list(model.figures(deviations, model.balls(deviations)).values()))


def plain(model: Model, deviations: np.ndarray) -> np.ndarray:
    """Return weight, the three RGs, both differentials, top weight and the CG's offset (k, 8)."""
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
    return np.column_stack([
        *(J[:, 3, 3], low, between, high, high - low, high - between),
        *(first / model.ball.map.arm, first / J[:, 3, 3]),
    ])  # fmt: skip


def timed(run: Callable[[], object]) -> float:
    """Return how long it took, s."""
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def memory() -> float:
    """Return the most memory that this process has had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main() -> None:
    """Print the figures; balls that differ fail the program."""
    made, inputs = model()
    made.nominal, made.slopes  # noqa: B018 - the moments of the displaced moulds, once
    before = memory()
    sampling = ours_took = 0.0
    pieces = inputs.sources.samples()
    next(pieces)  # the first import
    start = time.perf_counter()
    for _, deviations in pieces:
        sampling += time.perf_counter() - start
        ours_took += timed(lambda deviations=deviations: ours(made, deviations))
        start = time.perf_counter()
    used = memory() - before
    piece = deviations
    count = 16
    plain_took = min(timed(lambda: plain(made, piece)) for _ in range(count))
    plain_took *= TOTAL / len(piece)
    off = np.abs(ours(made, piece)[:, :8] - plain(made, piece)).max(axis=0)
    times = plain_took / ours_took
    print(f"{TOTAL} balls of {len(inputs.each)} inputs")
    print(f"numpy and eigvalsh     {plain_took:6.2f} s")
    print(
        f"ours                   {ours_took:6.2f} s   {times:5.1f} times the throughput (15 asked)"
    )
    print(f"sampling, apart        {sampling:6.2f} s")
    print(f"memory, of ours        {used:6.0f} MB  (at most {MOST:.0f})")
    print("farthest apart         " + " ".join(f"{one:.0e}" for one in off))


if __name__ == "__main__":
    main()
