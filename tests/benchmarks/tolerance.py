"""A million balls of 6 densities, 2 positions and a diameter: ours beside numpy's eigenvalues.

Both make the same balls of the same samples: weight, three RGs, both differentials, top weight and
the CG's offset. Numpy's way is the plain one: each ball's 4×4 moments, its inertia about the centre
of gravity, `eigvalsh`; for all balls at once, and in pieces that stay in a cache. Told apart: the
low-RG axis's angle, which only ours gives, and the samples.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator

import numpy as np
from benchmarks.measuring import Section, least, ratio, spent
from optimizer_texts import read, shipped

from geometry.mass_properties import radii_of
from optimizer.scatter.inputs import Inputs, stated_inputs
from optimizer.scatter.model import Model
from optimizer.scenario import linear_maps
from optimizer.spread.sources import AT_ONCE, POINTS

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
MILLION = 1_000_000
SAME = 3e-9
"""Of an RG: what the two ways may be apart."""


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


def ours(model: Model, deviations: np.ndarray, *, axis: bool = False) -> list[np.ndarray]:
    """Return weight, the three RGs, both differentials, top weight and the CG's offset (k,).

    With `axis` the angle of the low-RG axis, too.
    """
    balls = model.balls(deviations)
    low, between, high = balls.radii
    apart = [balls.mass, low, between, high, high - low, high - between]
    more = [balls.tilt] if axis else []
    return [*apart, balls.first / model.ball.map.arm, balls.offset, *more]


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


def sections() -> Iterator[Section]:
    """Yield the table; balls that differ fail."""
    made, inputs = model()
    _, deviations = next(inputs.sources.samples())
    pairs = zip(ours(made, deviations), plain(made, deviations), strict=True)
    rg = made.nominal["low RG"]
    if (off := max(float(np.abs(a - b).max()) for a, b in pairs) / rg) > SAME:
        raise SystemExit(f"balls differ by {off:.0e} of an RG")
    ways = {
        "plain": lambda: plain(made, deviations),
        "ours": lambda: ours(made, deviations),
        "with its axis": lambda: ours(made, deviations, axis=True),
        "samples": lambda: sum(len(some) for _, some in inputs.sources.samples(1, POINTS)),
    }
    took = {name: seconds * MILLION / AT_ONCE for name, seconds in least(ways).items()}
    took["samples"] *= AT_ONCE / POINTS
    took["axis"] = took["with its axis"] - took["ours"]
    every = np.concatenate([some for _, some in inputs.sources.samples()])
    whole = {"whole": lambda: plain(made, every)}
    took["whole"] = least(whole, runs=1)["whole"] * MILLION / len(every)
    tracemalloc.start()
    for _, some in inputs.sources.samples(1):
        ours(made, some)
    memory = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    rows = [
        *(
            (f"numpy and eigvalsh, {how}", spent(took[way]), ratio(took[way], took["ours"]))
            for way, how in (("whole", "all at once"), ("plain", "in our pieces"))
        ),
        ("ours", spent(took["ours"]), "1×"),
        ("more, for the low-RG axis", spent(took["axis"]), ratio(took["axis"], took["ours"])),
        ("the samples", spent(took["samples"]), ratio(took["samples"], took["ours"])),
    ]
    note = f"Farthest apart: {off:.0e} of an RG. Memory for samples and balls: {memory:.0f} MB."
    title = f"A million balls, {len(inputs.each)} inputs"
    yield Section(title, ("way", "takes", "of ours"), rows, note)
