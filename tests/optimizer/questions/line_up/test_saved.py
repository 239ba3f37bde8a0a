from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from whole import in_shares

from optimizer.questions.line_up.data import solution
from optimizer.questions.line_up.saved.reading import read_solution
from shared.errors import InputError


@pytest.fixture
def saved(lineup, tilted, tmp_path) -> Callable[..., Path]:
    """A function that saves a line-up on target, after `change` has been at it."""

    def save(change: Callable[[dict[str, Any]], Any] = lambda _: None) -> Path:
        data = solution(lineup(_on_target(lineup, tilted)))
        change(data)
        path = tmp_path / "alder.json"
        path.write_text(json.dumps(data))
        return path

    return save


def _on_target(lineup, text: str) -> str:
    """The scenario with its weights and targets moved to where the balls of conftest are.

    One weight is enough: two balls of different density don't share an RG.
    """
    text = text.replace("12 = 12.1\n", "")
    row = solution(lineup(text))["weights"][0]
    return (
        text.replace("15 = 15.1", f"15 = {row['weight_lb']}")
        .replace("rg = 2.55", f"rg = {row['rg_low_in']}")
        .replace("differential = 0.03", f"differential = {row['differential_in']}")
        .replace("min = 1.0, max = 4.0", "min = 0.0, max = 9.0")
        .replace('rulebook = "usbc"\n', "")  # its pin marking would refuse a tilted core
    )


def test_a_saved_line_up_is_measured_to_the_same_figures(saved) -> None:
    path = saved()
    again = json.loads(json.dumps(solution(read_solution(path))))
    before = json.loads(path.read_text())
    assert again["weights"] == before["weights"]
    assert again["scenario"] == before["scenario"]
    assert again["target"] == before["target"]


def put(*path: str | int, value: Any) -> Callable[[dict[str, Any]], None]:
    def change(data: Any) -> None:
        for key in path[:-1]:
            data = data[key]
        data[path[-1]] = value

    return change


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (put("format", value="samespin/window@1"), "is no saved solution"),
        (put("scenario", "sha256", value="0" * 64), "scenario.sha256 does not follow"),
        (put("scenario", "text", value="name = "), "is not TOML: the value is not valid"),
        (put("scenario", value=None), "holds no text of a scenario"),
        (put("status", value="fine"), 'has no "status" that is known'),
        (put("target", "rg_in", value=2.6), 'target "rg_in" is not what its scenario asks'),
        (put("target", "rg_in", value=None), 'target "rg_in" is no number'),
        (put("weights", value=[]), 'holds no weight "15"'),
        (
            put("weights", 0, "densities_g_cm3", "block", value=1.5),
            "is called feasible, but 15: weight is off",
        ),
        (put("weights", 0, "densities_g_cm3", "block", value="1.4"), 'no density of part "block"'),
        (put("weights", 0, "densities_g_cm3", "block", value=-1.4), 'no density of part "block"'),
        (put("weights", 0, "rg_high_in", value=2.7), "weights[15].rg_high_in does not follow"),
        (put("weights", 0, "weight_lb", value=True), "weights[15].weight_lb does not follow"),
        (put("weights", 0, "cg_in", value=[0, 0]), "weights[15].cg_in does not follow"),
        (
            put("weights", 0, "axes", "psa_from_pin_deg", value=1.0),
            "weights[15].axes.psa_from_pin_deg does not follow",
        ),
        (
            put("weights", 0, "axes", "asymmetric", value=None),
            "weights[15].axes.asymmetric does not follow",
        ),
        (
            put("weights", 0, "axes", "asymmetric", value=1),
            "weights[15].axes.asymmetric does not follow",
        ),
        (
            put("weights", 0, "volumes_cm3", value={}),
            "weights[15].volumes_cm3.cover does not follow",
        ),
    ],
)
def test_a_solution_that_says_what_is_not_so_is_refused(saved, change, told) -> None:
    with pytest.raises(InputError, match="alder") as caught:
        read_solution(saved(change))
    assert told in str(caught.value)


def _figures(data: Any, *path: str | int) -> Iterator[tuple[str | int, ...]]:
    """Where each number, text, yes or no stands in `data`."""
    if isinstance(data, dict | list):
        for key in data if isinstance(data, dict) else range(len(data)):
            yield from _figures(data[key], *path, key)
    else:
        yield path


NOT_READ = {"made_by", "search", "infeasible", "warnings"}
"""What nothing is taken from: it can't be measured, or is made anew."""


@in_shares(4)
def test_no_figure_can_be_changed_by_hand(saved, share) -> None:
    """Each in turn: a number by 1 % and 0.00001, a yes to a no, a text to another one."""
    path = saved()
    data = json.loads(path.read_text())
    places = [place for place in _figures(data) if place[0] not in NOT_READ]
    assert {place[0] for place in places} == data.keys() - NOT_READ
    believed = []
    for place in share(places):
        spoilt = json.loads(json.dumps(data))
        put(*place, value=_spoilt(_at(data, place)))(spoilt)
        path.write_text(json.dumps(spoilt))
        with suppress(InputError):
            read_solution(path)
            believed.append(place)
    assert believed == []


def _at(data: Any, place: tuple[str | int, ...]) -> Any:
    for key in place:
        data = data[key]
    return data


def _spoilt(value: Any) -> Any:
    if isinstance(value, bool) or value is None:
        return not value
    if isinstance(value, str):
        return f"{value} x"
    return value * 1.01 + 1e-5


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda data: data["weights"].append(data["weights"][0]), "weights does not follow"),
        (lambda data: data["weights"][0]["margins"].pop(), "weights[15].margins does not follow"),
        (lambda data: data.pop("smallest_margin"), "smallest_margin does not follow"),
        (lambda data: data["weights"][0].pop("axes"), "(not there); measured: 6 entries"),
        (put("weights", 0, "dimensions", "belly", value=3.0), "dimensions.belly does not follow"),
        (put("status", value="within_tolerance"), "its densities meet every target and limit"),
        (put("status", value="undecided"), "its densities meet every target and limit"),
        (put("weights", 0, "densities_g_cm3", "block", value=10**400), "no density of part"),
    ],
)
def test_what_is_added_or_left_out_is_refused(saved, change, told) -> None:
    with pytest.raises(InputError) as caught:
        read_solution(saved(change))
    assert told in str(caught.value)


def test_what_is_not_measured_is_not_read(saved) -> None:
    """How it was sought isn't told of a saved line-up, but for whether it was to the end."""
    plain = read_solution(saved())
    claims = {"complete": True, "starts": 99, "moulds": 99, "agreed": 99, "programs": 1}
    result = read_solution(saved(lambda data: data.update(search=claims, note="ours", warnings=[])))
    assert result.search == plain.search
    assert result.search.starts == 0
    assert result.search.complete
    cut = read_solution(saved(lambda data: data.update(search=claims | {"complete": False})))
    assert cut.search == replace(plain.search, complete=False)


def test_within_tolerance_must_be_within_it(lineup, tilted, tmp_path) -> None:
    """0.02 lb off with 0.06 lb allowed is within tolerance; with 0.01 lb allowed it isn't."""
    text = _on_target(lineup, tilted)
    weight = solution(lineup(text))["weights"][0]["weight_lb"]
    text = text.replace(f"15 = {weight}", f"15 = {weight + 0.02}")
    path = tmp_path / "near.json"

    def save(text: str) -> None:
        near = lineup(text, status="within_tolerance")
        near = replace(near, weights=tuple(one.roomed() for one in near.weights))
        path.write_text(json.dumps(solution(near)))

    save(text)
    assert read_solution(path).status == "within_tolerance"
    save(text.replace("weight = 0.06", "weight = 0.01"))
    with pytest.raises(InputError, match=r"is called within_tolerance, but 15: .*weight.* broken"):
        read_solution(path)


def test_a_fixed_density_must_be_the_one_given(lineup, tilted, tmp_path) -> None:
    """Saved with the density that makes the target, then fixed to another in the scenario."""
    text = _on_target(lineup, tilted).replace("density = [1.1, 1.3]", "density = 1.25")
    path = tmp_path / "fixed.json"
    path.write_text(json.dumps(solution(lineup(text))))
    with pytest.raises(
        InputError, match=r'density of part "cover" that the scenario allows \(1.2\)'
    ):
        read_solution(path)


def test_one_density_for_all_must_be_one(lineup, tilted, tmp_path) -> None:
    text = tilted.replace('name = "cover"', 'name = "cover"\nsame_density = "all"')
    path = tmp_path / "shared.json"
    path.write_text(json.dumps(solution(lineup(text, status="infeasible"))))
    with pytest.raises(InputError, match=r'"cover" differs .* \(15: 1.2, 12: 1.15\)'):
        read_solution(path)


@pytest.mark.parametrize("spoilt", ["revision = 2024-05-06", f"revision = {'[' * 300}{']' * 300}"])
def test_dates_and_deep_nests_in_the_scenario_are_told(saved, spoilt) -> None:
    change = put("scenario", "text", value=f"{spoilt}\n")
    with pytest.raises(InputError, match=r"alder\.json \(its scenario\)"):
        read_solution(saved(change))


def test_a_line_up_that_only_calls_itself_feasible_is_refused(lineup, tilted, tmp_path) -> None:
    """The nearest line-up of an infeasible scenario, its status edited, figures true."""
    data = solution(lineup(tilted, status="infeasible")) | {"status": "feasible"}
    path = tmp_path / "edited.json"
    path.write_text(json.dumps(data))
    with pytest.raises(InputError, match="is called feasible, but"):
        read_solution(path)


def test_a_small_miss_of_the_target_is_no_feasible_line_up(lineup, tilted, tmp_path) -> None:
    """0.02 lb off, a third of the tolerance: more than stating the densities to 0.0001 can do."""
    text = _on_target(lineup, tilted)
    weight = solution(lineup(text))["weights"][0]["weight_lb"]
    path = tmp_path / "edited.json"
    path.write_text(
        json.dumps(solution(lineup(text.replace(f"15 = {weight}", f"15 = {weight + 0.02}"))))
    )
    with pytest.raises(InputError, match=r"weight is off by"):
        read_solution(path)


def test_densities_outside_their_range_are_refused_even_on_target(lineup, tilted, tmp_path) -> None:
    text = _on_target(lineup, tilted).replace("density = [1.1, 1.3]", "density = [1.25, 1.3]")
    path = tmp_path / "outside.json"
    path.write_text(json.dumps(solution(lineup(text))))
    with pytest.raises(InputError, match="density min is broken"):
        read_solution(path)


@pytest.mark.parametrize("content", [b"", b"[1]", b"{", b"\xff\xfe", b"[" * 100_000])
def test_a_file_that_is_no_solution_is_refused(content, tmp_path) -> None:
    path = tmp_path / "x.json"
    path.write_bytes(content)
    with pytest.raises(InputError):
        read_solution(path)


def test_a_missing_file_is_told(tmp_path) -> None:
    with pytest.raises(InputError, match="does not exist"):
        read_solution(tmp_path / "none.json")
