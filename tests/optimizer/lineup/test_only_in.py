"""Parts that stand only in some weights: the answer is each weight's own, measured by an oracle."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import two_cores
from answers import solved
from optimizer_texts import read
from oracles.balls import weight_and_radii
from oracles.lineups import INCH, OUNCE, POUND, RANGES, Line, manufactured

from optimizer.lineup.columns import coupled
from optimizer.lineup.rows import Lineup
from optimizer.scenario import linear_maps

ON_TARGET = 0.00005 * INCH


def _densities(result):
    return {
        weight.label: dict(
            zip((p.part for p in weight.ball.map.pours), weight.ball.densities, strict=True)
        )
        for weight in result.weights
    }


def test_every_weight_has_its_own_parts_and_is_what_an_oracle_measures():
    result = solved(two_cores.text())
    assert result.status == "feasible"
    found = _densities(result)
    assert {label: [*own] for label, own in found.items()} == {
        "15": ["cover", "mantle", "spindle", "keel", "crown"],
        "14": ["cover", "mantle", "spindle", "keel", "crown"],
        "12": ["cover", "light spindle", "mantle", "light keel"],
    }
    for weight in result.weights:
        mass, radii, top = two_cores.measured(found[weight.label])
        assert mass == pytest.approx(two_cores.WEIGHTS[weight.label] * POUND, abs=0.5)
        assert radii[0] == pytest.approx(2.575, abs=2e-5)
        assert radii[2] - radii[0] == pytest.approx(0.036, abs=2e-5)
        assert weight.ball.top_weight / OUNCE == pytest.approx(top, abs=1e-9)
        assert float(np.sum(weight.ball.map.volumes)) == pytest.approx(
            4 / 3 * np.pi * (4.29 * INCH) ** 3, rel=1e-12
        )
        named = {name for m in weight.margins for name in np.atleast_1d(m.part or ())}
        assert named == set(found[weight.label])


def test_the_line_is_what_its_weights_are_by_themselves():
    """Nothing is shared: solved as two scenarios, without `only_in`, to the printed digit."""
    whole = _densities(solved(two_cores.text()))
    for labels in (("15", "14"), ("12",)):
        text = two_cores.text(labels)
        assert "only_in" not in text
        assert _densities(solved(text)) == {label: whole[label] for label in labels}


def test_a_shared_cover_is_one_density_over_different_cores():
    """With that cover given, each weight by itself has as much room; with another one, no more."""

    def wide(text):
        for narrow, more in (("0.7, 2.9", "0.3, 3.7"), ("0.5, 1.45", "0.3, 1.6"), ("0.8", "0.5")):
            text = text.replace(f"density = [{narrow}", f"density = [{more}")
        return text

    result = solved(wide(two_cores.text(same='[["14", "12"]]')))
    assert result.status == "feasible"
    found = _densities(result)
    cover = float(found["14"]["cover"])
    assert cover == found["12"]["cover"]
    assert found["15"] == _densities(solved(wide(two_cores.text())))["15"]

    def room(given):
        text = wide(two_cores.text(("14", "12")))
        text = text.replace("density = [0.95, 1.24]", f"density = {given:.4f}")
        alone = solved(text)
        held = [m.tolerances for m in alone.margins if m.movable and m.weight in ("14", "12")]
        if alone.status != "feasible":
            return -np.inf
        return min([*held, (given - 0.95) / 0.01, (1.24 - given) / 0.01])

    level = min(m.tolerances for m in result.margins if m.movable and m.weight in ("14", "12"))
    assert level == pytest.approx(room(cover), abs=0.02)
    assert max(room(cover - 0.01), room(cover + 0.01)) < level + 0.01


def test_what_ties_weights_together_is_what_they_both_have():
    asked = read(
        two_cores.text(same='"all"').replace('name = "keel"', 'name = "keel"\nsame_density = "all"')
    )
    maps = linear_maps(asked)
    assert asked.sharing["keel"] == (("15", "14"),)
    assert [*coupled(maps, asked.sharing)] == [(0, 1, 2)]
    alone = {part: groups for part, groups in asked.sharing.items() if part != "cover"}
    assert [*coupled(maps, alone)] == [(0, 1), (2,)]
    lineup = Lineup.of(maps, asked.sharing)
    assert lineup.pouring("light keel").keys() == {"12"}
    assert len(set(lineup.pouring("cover").values())) == 1
    assert len(set(lineup.pouring("keel").values())) == 1
    columns = [places.tolist() for places in lineup.columns.poured]
    assert len(set(columns[0]) | set(columns[1]) | set(columns[2])) == lineup.columns.figures


def _two(random, kind):
    """A line of two weights with no part in common but the ball, which have one RG alike.

    The second's solids are the first's, each a few percent larger or smaller, at densities, well
    inside what can be poured, at which they have the same RGs.
    """
    least, most = np.array(RANGES).T
    while True:
        line, densities = manufactured(random, kind, "cg")
        target = line.rg[0], line.rg[0] + line.differential[0]
        ball, *inner = line.solids
        sizes = random.uniform(0.93, 1.02, len(inner))
        grown = (
            replace(x, axes=tuple(k * a for a in x.axes)) for x, k in zip(inner, sizes, strict=True)
        )
        other, rho = (ball, *grown), np.array(densities)

        def off(rho, other=other, target=target):
            return weight_and_radii(other, rho.tolist(), "cg")[1][[0, 2]] - target

        for _ in range(6):  # Newton's method, by the shortest step
            slopes = np.array([(off(rho + step) - off(rho)) / 1e-6 for step in 1e-6 * np.eye(4)])
            rho = rho - np.linalg.pinv(slopes.T) @ off(rho)
        mass, _, cg = weight_and_radii(other, rho.tolist(), "cg")
        top = float(np.linalg.norm(cg)) * mass / (4.29 * INCH) / OUNCE
        known = float(np.max(np.abs(off(rho)))) < 1e-8
        if known and top < 4.0 and bool(np.all((rho > least + 0.01) & (rho < most - 0.01))):
            return line, other, float(mass)


def _text(line, other, mass):
    """The scenario: the second weight's parts are `other`'s, but for the ball they share."""
    second = Line(other, {}, line.rg, line.differential, ranges=line.ranges)
    own = line.but(weights={**line.weights, "12": mass}).text()
    head, *parts = own.split("[[parts]]")
    _, *others = second.text().split("[[parts]]")
    told = [head, parts[0]]
    for mine, its in zip(parts[1:], others[1:], strict=True):
        light = re.sub(r'(name|inside) = "(mantle|block|insert)"', r'\1 = "light \2"', its)
        told += [f'{light.rstrip()}\nonly_in = ["12"]\n', f'{mine.rstrip()}\nonly_in = ["15"]\n']
    return "[[parts]]".join(told)


@pytest.mark.parametrize(
    ("kind", "count"), [("aligned", 12), ("tilted 15", 4), ("triaxial", 4), ("off axis", 4)]
)
def test_what_was_measured_can_be_poured_again(kind, count):
    """Two weights with other solids in the same places: each comes back to one target."""
    random, missed = np.random.default_rng(len(kind)), []
    for number in range(count):
        line, other, mass = _two(random, kind)
        result = solved(_text(line, other, mass))
        if result.status != "feasible":
            missed.append((number, result.status))
            continue
        for weight, its, asked in zip(
            result.weights, (line.solids, other), (line.weights["15"], mass), strict=True
        ):
            poured, radii, _ = weight_and_radii(its, weight.ball.densities.tolist(), "cg")
            assert abs(poured - asked) < 0.001 * POUND
            assert abs(radii[0] - line.rg[0]) < ON_TARGET
            assert abs(radii[2] - radii[0] - line.differential[0]) < ON_TARGET
    assert missed == []


def test_dimensions_are_of_the_weights_that_have_them():
    """Two dimensions, each of parts of some weights: picked as by two scenarios of their own."""
    belly = "{ min = 3.3, max = 3.6 }"
    thin = "{ min = 3.0, max = 3.3 }"

    def drawn(text, *names):
        told = {"belly": (3.5, belly), "thin": (3.2, thin)}
        lines = [f"{name} = {told[name][1]}" for name in names]
        for name in names:
            text = text.replace(f"diameter = {told[name][0]},", f'diameter = "{name}",')
        return text.replace("[weights]", "[dimensions]\n" + "\n".join(lines) + "\n[weights]")

    whole = solved(drawn(two_cores.text(), "belly", "thin"))
    assert whole.status == "feasible"
    assert whole.scenario.chosen.keys() == {"belly", "thin"}
    assert whole.scenario.chosen["belly"].keys() == {"15", "14"}
    assert whole.scenario.chosen["thin"].keys() == {"12"}
    assert whole.scenario.named("12").keys() == {"thin"}
    heavy = solved(drawn(two_cores.text(("15", "14")), "belly"))
    light = solved(drawn(two_cores.text(("12",)), "thin"))
    assert heavy.scenario.chosen["belly"] == whole.scenario.chosen["belly"]
    assert light.scenario.chosen["thin"] == whole.scenario.chosen["thin"]
    assert _densities(heavy) | _densities(light) == _densities(whole)


def test_the_order_of_the_parts_in_the_file_changes_nothing():
    text = two_cores.text()
    head, *parts = text.split("[[parts]]")
    *parts, last = parts
    last, limits = last.split("[limits]")
    turned = "[[parts]]".join([head, last, *reversed(parts)]) + "[limits]" + limits
    first, second = (_densities(solved(one)) for one in (text, turned))
    assert first == second


def test_infeasible_in_the_weight_with_its_own_core_names_that_weight_alone():
    text = two_cores.text().replace("12 = 12.12", "12 = 10.60")
    result = solved(text)
    assert result.status == "infeasible"
    assert result.infeasible is not None
    assert result.infeasible.proof.startswith("proven for 12:")
    assert {margin.weight for margin in result.infeasible.stops} == {"12"}
    whole = _densities(solved(two_cores.text()))
    found = _densities(result)
    assert {label: found[label] for label in ("15", "14")} == {
        label: whole[label] for label in ("15", "14")
    }
