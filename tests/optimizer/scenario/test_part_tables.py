"""Parts added to a text and taken out: nothing else is touched, and what is said of them goes."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from optimizer.scenario.checks.references import references
from optimizer.scenario.source.part_tables import with_part, without_part
from shared.errors import InputError

SCENARIOS = Path(__file__).parents[3] / "scenarios"
JUNIPER = (SCENARIOS / "juniper.toml").read_text(encoding="utf-8")
HEART = {
    "name": "heart",
    "inside": "keel",
    "shape": {"kind": "sphere", "diameter": "heart_diameter"},
    "material": "dense",
}


def grown(source: str) -> str:
    free = {"heart_diameter": {"min": 0.2, "max": 1.5}}
    return with_part(source, HEART, dimensions=free)


def lines(source: str) -> list[str]:
    return [line for line in source.splitlines() if line]


def test_what_is_added_is_all_that_is_new() -> None:
    new = grown(JUNIPER)
    left = lines(new)
    for line in lines(JUNIPER):
        left.remove(line)
    assert left == [
        "[[parts]]",
        'name = "heart"',
        'inside = "keel"',
        'shape = { kind = "sphere", diameter = "heart_diameter" }',
        'material = "dense"',
        "[dimensions]",
        "heart_diameter = { min = 0.2, max = 1.5 }",
    ]
    assert [part["name"] for part in tomllib.loads(new)["parts"]][-1] == "heart"


def test_what_was_added_can_be_taken_out_again() -> None:
    again = tomllib.loads(without_part(grown(JUNIPER), "heart"))
    assert again.pop("dimensions") == {}
    assert again == tomllib.loads(JUNIPER)


def test_windows_line_ends_stay() -> None:
    new = grown(JUNIPER.replace("\n", "\r\n"))
    assert new.replace("\r\n", "") == new.replace("\r\n", "").replace("\n", "")


def test_what_lay_in_it_lies_in_its_host() -> None:
    content = tomllib.loads(without_part(JUNIPER, "spindle"))
    assert {part["name"]: part.get("inside") for part in content["parts"]} == {
        "cover": None,
        "mantle": "cover",
        "keel": "mantle",
        "girdle": "mantle",
    }
    assert content["limits"]["wall"]["except"] == []  # it was about the spindle


def test_an_adopted_part_hands_its_walls_on() -> None:
    """The girdle's neighbour is the jacket, no longer the spindle in it."""
    jacket = {**HEART, "name": "jacket", "inside": "mantle"}
    free = {"heart_diameter": 4.0}
    text = with_part(JUNIPER, jacket, dimensions=free, adopted=frozenset({"spindle"}))
    content = tomllib.loads(text)
    assert content["parts"][2]["inside"] == "jacket"
    assert content["limits"]["wall"]["except"] == [{"between": ["girdle", "jacket"], "min": 0.1}]


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_nothing_dangles_in_what_is_left_of_any_example(path: Path) -> None:
    """What is left is refused for its shapes alone, such as a plug without one of its hosts."""
    source = path.read_text(encoding="utf-8")
    for part in tomllib.loads(source)["parts"][1:]:
        left = tomllib.loads(without_part(source, part["name"]))
        assert part["name"] not in [own["name"] for own in left["parts"]]
        wrong = [mistake.what for mistake in references(left, target_required=False)]
        assert not [what for what in wrong if "not a part" in what or "no wall" in what]


def test_parts_in_one_line_are_refused() -> None:
    head, _, rest = JUNIPER.partition("[[parts]]")
    inline = 'parts = [{ name = "ball", shape = { kind = "sphere", diameter = 8.5 }, '
    source = f'{inline}material = "shell" }}]\n{head}'
    assert rest
    with pytest.raises(InputError, match="parts stand in one line"):
        grown(source)
