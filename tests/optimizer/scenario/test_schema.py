"""The JSON Schema against the scenarios that are shipped, by an independent validator."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from optimizer_texts import SCENARIOS

from geometry.shapes import SHAPES
from optimizer.scenario.text.schema import scenario_schema


def _faults(content: dict[str, Any]) -> list[str]:
    return [
        error.json_path for error in Draft202012Validator(scenario_schema()).iter_errors(content)
    ]


@pytest.fixture
def content() -> dict[str, Any]:
    """Return what Juniper says."""
    juniper = next(path for path in SCENARIOS if path.stem == "juniper")
    return tomllib.loads(juniper.read_text(encoding="utf-8"))


def test_it_is_a_schema() -> None:
    Draft202012Validator.check_schema(scenario_schema())


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_scenario_is_valid(path: Path) -> None:
    assert _faults(tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    "path",
    [
        ("units", "length"),
        ("target", "rg"),
        ("target", "tolerance", "weight"),
        ("materials", "shell", "recipe"),
        ("materials", "shell", "recipe", "resin"),
        ("ingredients", "barite", "density"),
        ("parts", 0, "name"),
        ("parts", 0, "shape"),
        ("parts", 0, "shape", "kind"),
        ("parts", 4, "shape", "thickness"),
        ("weights", "14", "target"),
    ],
)
def test_a_misspelt_key_is_invalid(content: dict[str, Any], path: tuple[str | int, ...]) -> None:
    """The key under another name: it is missing, and the other is none."""
    spoilt: Any = copy.deepcopy(content)
    table = spoilt
    for key in path[:-1]:
        table = table[key]
    table[f"{path[-1]}s"] = table.pop(path[-1])
    assert _faults(spoilt)


@pytest.mark.parametrize(
    "shape",
    [{"kind": "orb", "diameter": 3}, {"kind": "sphere", "height": 3}, {"diameter": 3}, "sphere"],
)
def test_a_wrong_shape_is_invalid(content: dict[str, Any], shape: Any) -> None:
    content["parts"][1]["shape"] = shape
    assert _faults(content)


def test_short_and_long_forms_are_valid(content: dict[str, Any]) -> None:
    content["weights"] = {"16": 15.9, "15": {"target": 15.1}}
    content["materials"]["shell"] = {"density": 1.2}
    content["materials"]["dense"]["density"] = [1.6, 3.2]
    content["limits"]["rulebook"] = {"name": "usbc"}
    content["dimensions"] = {
        "a": 1.0,
        "b": {"each": {"16": 1, "15": 2}},
        "c": {"min": 1, "max": 2, "same": [["16", "15"]]},
        "d": {"one_of": [1, 2], "same": "none"},
    }
    content["parts"][1]["shape"] = {"kind": "sphere", "diameter": "a"}
    content["parts"][1]["same_density"] = [["16"], ["15"]]
    content["target"]["rg"] = {"min": 2.5, "max": 2.6}
    assert _faults(content) == []


@pytest.mark.parametrize(
    "recipe",
    [
        {"resin": "epoxy", "void": 0.4},
        {"resin": "epoxy", "heavy": "barite", "loading": 0.4},
        {"resin": "epoxy", "heavy": ["barite"], "viscosity": 1},
        {"heavy": ["barite"], "loading": 0.4},
        "epoxy",
    ],
)
def test_a_wrong_recipe_is_invalid(content: dict[str, Any], recipe: Any) -> None:
    content["materials"]["shell"]["recipe"] = recipe
    assert _faults(content)


def test_every_kind_of_shape_is_in_it(content: dict[str, Any]) -> None:
    for shape in SHAPES:
        content["parts"][1]["shape"] = shape.example().model_dump(mode="json")
        assert _faults(content) == [], shape.__name__


def test_what_the_keys_mean_is_told() -> None:
    """An editor shows the description of a key; the reader's errors say the same words."""
    part = scenario_schema()["$defs"]["PartText"]["properties"]
    assert part["material"]["description"] == "a name from [materials]"
    assert all("description" in field or "$ref" in field for field in part.values())
