"""Infeasible must be proven: never of what can be poured, and of what plainly can't be."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import Ellipsoid, about_centre, weight_and_radii
from oracles.lineups import OUNCE, RADIUS, TILTS, Line, manufactured

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.proof.proof import Relaxation
from optimizer.scenario import scenario


def _verdict(one):
    return Relaxation(one, LinearSolver()).verdict()


@pytest.mark.turns(4)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize(
    "kind",
    ["aligned", "aligned triaxial", "tilted 15", "tilted 80", "triaxial", "off axis", "round"],
)
@pytest.mark.parametrize("width", [0.001, 0.03, 1.0])
def test_what_can_be_poured_is_never_proven_impossible(lineup, kind, about, width):
    """The relaxation alone, without the search that might save it.

    Narrow ranges round the manufactured densities leave it hardly any room to be wrong in: with
    them it once was, where the CG lay off the pin axis.
    """
    random = np.random.default_rng([len(kind), len(about), int(1000 * width)])
    for number in range(8):
        line, made = manufactured(random, kind, about, intermediate=number % 2 == 1)
        ranges = [
            (max(0.06, x - width * a), x + width * b)
            for x, (a, b) in zip(made, random.random((4, 2)), strict=True)
        ]
        line = line.but(ranges=ranges)
        if number % 4 >= 2:  # limits that the made ball keeps by a hair
            _, _, cg = weight_and_radii(line.solids, made, "cg")
            away = 10.0 * RADIUS * float(np.arctan2(np.hypot(cg[0], cg[1]), cg[2]))
            near = f"min = {max(0.0, away - 0.01)}, max = {away + 0.01}"
            _, (_, middle, high), _ = weight_and_radii(line.solids, made, about)
            inner = f"intermediate_differential = {{ max = {10.0 * (high - middle) + 1e-6} }}"
            limits = f"pin_distance = {{ {near} }}\n{inner}"
            line = line.but(limits=limits, top=(line.top[0], None))
        if number >= 4:  # a free target round the one that was made
            near = random.random(2)
            line = line.but(
                rg=(line.rg[0] - 0.05 * near[0], line.rg[0] + 0.05 * near[1]),
                differential=(0.98 * line.differential[0], 1.01 * line.differential[0]),
            )
        assert not _verdict(lineup(line)).proven, (number, line)


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("end", ["low", "high"])
def test_a_free_target_that_is_made_at_its_very_end_is_never_proven_impossible(lineup, about, end):
    """Wide spans, and the differential that was made is one end of its own.

    There v lies on the curve itself, which the tangents and the secant must not cut off.
    """
    random = np.random.default_rng([4, len(about), len(end)])
    for number in range(12):
        line, made = manufactured(random, "aligned", about)
        differential, near = line.differential[0], random.random(2)
        line = line.but(
            ranges=[(rho - 1e-4, rho + 1e-4) for rho in made],
            rg=(line.rg[0] - 0.4 * near[0], line.rg[0] + 0.4 * near[1]),
            differential=(0.2 * differential, differential)
            if end == "high"
            else (differential, 3.0 * differential),
        )
        assert not _verdict(lineup(line)).proven, (number, line)


def _plain(about="cg", **changes):
    """A cover, a mantle and a block on the pin axis, with its densities and what they measure."""
    solids = (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((9.2,) * 3, host=0),
        Ellipsoid((3.4, 3.4, 5.8), (0.0, 0.0, 0.6), host=1),
    )
    made = (1.15, 0.95, 1.7)
    mass, radii, _ = weight_and_radii(solids, made, about)
    low, _, high = radii.tolist()
    line = Line(solids, {"15": float(mass)}, (low, low), (high - low,) * 2, about=about)
    ranges = ((1.05, 1.25), (0.6, 1.3), (1.0, 2.9))
    return line.but(ranges=ranges, top=(0.0, 4.0)).but(**changes), made


def _shifted(span, by):
    return (span[0] + by, span[1] + by)


IMPOSSIBLE = {
    "RG far too high": lambda line: {"rg": _shifted(line.rg, 0.4)},
    "RG far too low": lambda line: {"rg": _shifted(line.rg, -0.4)},
    "differential too large": lambda _: {"differential": (0.35, 0.35)},
    "a weight that the ranges can't make": lambda _: {"weights": {"15": 9000.0}},
    "top weight that can't be reached": lambda _: {"top": (20.0, 30.0)},
    "free target out of reach": lambda line: {
        "rg": _shifted((line.rg[0] - 0.02, line.rg[1] + 0.02), 0.5)
    },
    "intermediate differential of a symmetric core": lambda line: {
        "intermediate": (0.5 * line.differential[0],) * 2
    },
}


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("why", IMPOSSIBLE)
def test_what_plainly_cannot_be_is_proven(solved, lineup, about, why):
    line, _ = _plain(about)
    line = line.but(**IMPOSSIBLE[why](line))
    assert _verdict(lineup(line)).proven
    result = solved(line)
    assert result.status == "infeasible"
    assert result.infeasible.proof.startswith("proven for 15")


@pytest.mark.turns(2)
@pytest.mark.parametrize("about", ["cg", "centre"])
def test_too_little_intermediate_differential_for_a_triaxial_core_is_proven(solved, about):
    """Of balls within 0.001 g/cm³ of one that is measured; a tenth less than it has."""
    for number in range(6):
        line, made = manufactured(np.random.default_rng(number), "aligned triaxial", about)
        _, (_, middle, high), _ = weight_and_radii(line.solids, made, about)
        rule = "intermediate_differential = {{ max = {} }}"
        ranges = [(x - 0.001, x + 0.001) for x in made]
        kept, broken = (
            solved(line.but(ranges=ranges, limits=rule.format(10.0 * share * (high - middle))))
            for share in (1.01, 0.9)
        )
        assert kept.status == "feasible"
        assert broken.status == "infeasible"


def test_a_tilted_core_is_proven_impossible_far_from_its_target(solved):
    line, _ = manufactured(np.random.default_rng(2), "tilted 15", "cg")
    assert solved(line.but(rg=_shifted(line.rg, 0.6))).status == "infeasible"


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_brute_force_confirms_what_is_proven_and_what_is_found(solved, about):
    """Three densities, 41 × 41 × 41 balls: how near any of them comes to a target.

    A grid step moves weight, RG and differential by less than the steps' sum of slopes; a target
    that no ball comes nearer to than that is impossible, and one that a ball hits is not.
    """
    line, _ = _plain(about, top=(None, None))
    axes = [np.linspace(low, high, 41) for low, high in line.ranges]
    grid = np.array(np.meshgrid(*axes, indexing="ij")).reshape(3, -1).T
    mass, low, high = _measured(line, grid)
    reach = []
    for values in (mass / line.weights["15"], low, high - low):
        table = values.reshape(41, 41, 41)
        reach.append(sum(float(np.max(np.abs(np.diff(table, axis=k)))) for k in range(3)))
    asked = np.array([1.0, line.rg[0], line.differential[0]])
    found = np.column_stack([mass / line.weights["15"], low, high - low])
    for shift in np.linspace(-0.16, 0.16, 9):
        target = asked + np.array([0.0, shift, 0.0])
        nowhere = not np.any(np.all(np.abs(found - target) <= reach, axis=1))
        status = solved(line.but(rg=_shifted(line.rg, shift))).status
        if nowhere:
            assert status == "infeasible"
        if status == "feasible":
            assert not nowhere
        if shift == 0.0:
            assert status == "feasible"
    # the far ends are beyond what any ball of the grid can do, so that both answers were seen
    for shift in (-0.16, 0.16):
        assert not np.any(np.all(np.abs(found - asked - [0.0, shift, 0.0]) <= reach, axis=1))


def _measured(line, grid):
    """Masses, low and high RGs of many balls at once, on the oracle's linear figures."""
    unit = [about_centre(line.solids, one) for one in np.eye(3)]
    mass = grid @ [one[0] for one in unit]
    first = grid @ [one[1][2] for one in unit]
    across, along = (grid @ [one[2][k, k] for one in unit] for k in (0, 2))
    if line.about == "cg":
        across = across - first**2 / mass
    return (
        mass,
        np.sqrt(np.minimum(across, along) / mass),
        np.sqrt(np.maximum(across, along) / mass),
    )


def _a_little_more_than_it_can():
    """A tilted core asked for 2e-5 cm more differential than any corner of its densities has."""
    line, made = manufactured(np.random.default_rng(6), "tilted 15", "cg")
    line = line.but(ranges=[(rho, rho + 1e-3) for rho in made], top=(None, None))
    some = [
        weight_and_radii(line.solids, np.array(made) + 1e-3 * np.array(corner), "cg")
        for corner in np.ndindex(2, 2, 2, 2)
    ]
    beyond = max(radii[2] - radii[0] for _, radii, _ in some) + 2e-5
    return line.but(differential=(beyond, beyond))


def test_a_tilted_core_is_proven_impossible_just_out_of_reach(lineup):
    assert _verdict(lineup(_a_little_more_than_it_can())).proven


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", TILTS)
def test_what_brute_force_finds_out_of_reach_is_proven_off_the_pin_axis(lineup, kind, about):
    """Differentials beyond those of 9⁴ balls of the right low RG, by what lies between the balls.

    Between two of them, each density is at most half a step from one; the differential changes by
    at most the spread of a density's own inertia (Weyl), here taken from the balls beside it.
    """
    random = np.random.default_rng([3, len(kind), len(about)])
    line, made = manufactured(random, kind, about)
    ranges = [(x - 0.02, x + 0.02) for x in made]
    grid = np.array(np.meshgrid(*(np.linspace(*r, 9) for r in ranges), indexing="ij"))
    figures = np.apply_along_axis(lambda x: weight_and_radii(line.solids, x, about)[1], 0, grid)
    apart = figures[2] - figures[0]
    steps = sum(float(np.max(np.abs(np.diff(apart, axis=k)))) for k in range(4))
    for end in (np.max(apart) + steps, np.min(apart) - steps):
        if end > 0.0:
            asked = line.but(ranges=ranges, differential=(float(end),) * 2, top=(None, None))
            assert _verdict(lineup(asked)).proven, (kind, end)


def test_undecided_is_said_where_nothing_is_proven(lineup, monkeypatch):
    """Not found, and its proof isn't confirmed."""
    monkeypatch.setattr(Relaxation, "holds", False)
    line = _a_little_more_than_it_can()
    assert not _verdict(lineup(line)).proven
    some = scenario(line.text(), file="line.toml", target_required=True)
    result = solve_lineup(some, exact=True)
    assert result.status == "undecided"
    assert "not found from" in result.infeasible.proof
    assert "nor proven impossible" in result.infeasible.proof
    assert result.weights  # the nearest line-up is there all the same


def test_a_top_weight_just_out_of_reach_is_proven(solved):
    """The imbalance is |linear| in the densities, so its most over their box is a corner's."""
    line, _ = _plain()
    corners = []
    for fraction in np.ndindex(2, 2, 2):
        densities = [
            low + f * (high - low) for f, (low, high) in zip(fraction, line.ranges, strict=True)
        ]
        _, first, _ = about_centre(line.solids, densities)
        corners.append(abs(first[2]) / RADIUS / OUNCE)
    most = max(corners)
    assert most < 60
    assert solved(line.but(top=(1.001 * most, 63.0))).status == "infeasible"


def test_the_differential_of_the_example_has_an_end(solved, juniper):
    """0.042 in can be poured in every weight, 0.42 in in none: each weight is named."""
    result = solved(juniper.replace("= 0.042 ", "= 0.42 "))
    assert result.status == "infeasible"
    assert all(label in result.infeasible.proof for label in ("16", "15", "14", "13"))
