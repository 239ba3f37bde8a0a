"""Parts written back, and the fingerprint."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from optimizer_texts import SCENARIOS

from optimizer.scenario import Scenario, read_scenario, scenario
from optimizer.scenario.source.writing import fingerprint, part_text

Read = Callable[..., Scenario]


def _resolved(value: Any, named: dict[str, float]) -> Any:
    """Put the numbers of dimensions in place of their names."""
    if isinstance(value, dict):
        return {key: _resolved(inner, named) for key, inner in value.items()}
    if isinstance(value, list):
        return [_resolved(inner, named) for inner in value]
    return named.get(value, value) if isinstance(value, str) else value


def _start(given: dict[str, Any], label: str) -> Any:
    """Return the value of a dimension that is not one number: its own, or where it starts."""
    if "each" in given:
        return given["each"][label]
    return given.get("start", float(f"{(given['min'] + given['max']) / 2:.12g}"))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_parts_are_written_as_they_were_typed(path: Path) -> None:
    """8.58, not 8.579999999999998: whatever stands in the file comes back, names resolved."""
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    one = read_scenario(path, target_required=True)
    for weight in one.classes:
        named = {
            name: _start(given, weight.label) if isinstance(given, dict) else given
            for name, given in content.get("dimensions", {}).items()
        }
        by_name = {typed["name"]: typed for typed in content["parts"]}
        for part in weight.parts:
            expected = {"at": [0.0, 0.0, 0.0], **by_name[part.name]}
            for key in ("same_density", "only_in"):
                expected.pop(key, None)
            for key in {"shape", "at"} & expected.keys():
                expected[key] = _resolved(expected[key], named)
            assert part_text(part, one) == expected


@given(st.floats(0.2, 7.9).map(lambda x: round(x, 6)))
def test_any_length_survives_inches_and_back(diameter: float) -> None:
    """Typed with six decimals, held in cm, written in inches: the same number."""
    source = SOURCE.replace("DIAMETER", repr(diameter))
    one = scenario(source, file="t", target_required=False)
    assert part_text(one.classes[0].parts[1], one)["shape"]["diameter"] == diameter


SOURCE = """
name = "t"
revision = "A"
units = { length = "in", weight = "lb", density = "g/cm3", rg = "in" }
weights = { 15 = 15 }
materials = { m = { density = 1.2 } }
[[parts]]
name = "ball"
shape = { kind = "sphere", diameter = 8.0 }
material = "m"
[[parts]]
name = "core"
inside = "ball"
shape = { kind = "sphere", diameter = DIAMETER }
material = "m"
"""


def test_rotate_and_stretch_are_written_only_where_they_do_something(read: Read) -> None:
    plain, moved = read(), read('name     = "heart"', 'name     = "heart"\nrotate = [0, 10, 0]')
    assert set(part_text(plain.classes[0].parts[2], plain)) == {
        "name",
        "inside",
        "shape",
        "at",
        "material",
    }
    text = part_text(moved.classes[0].parts[2], moved)
    assert text["rotate"] == [0, 10, 0]
    assert "stretch" not in text


def test_a_fingerprint_is_of_the_content_alone(sound: str) -> None:
    """Comments, blanks and the order of keys don't count; a number does."""
    one = tomllib.loads(sound)
    same = tomllib.loads("# a comment\n" + sound.replace(" = ", "=  "))
    assert fingerprint(one) == fingerprint(same) == fingerprint(dict(reversed(one.items())))
    assert fingerprint(one) != fingerprint(tomllib.loads(sound.replace("8.500", "8.501")))


def test_a_fingerprint_is_the_sha_256_of_canonical_json() -> None:
    """Of the bytes {"a":1.5,"b":"é"}: worked out with `printf '…' | sha256sum`."""
    expected = "6173df492ea2cc3f93854102e7ca395f27a97bc90c7130b33a9608fe1407beba"
    assert fingerprint({"b": "é", "a": 1.5}) == expected
