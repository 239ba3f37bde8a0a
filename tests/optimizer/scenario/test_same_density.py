"""`same_density` written into a scenario: one value changes, every other byte stays."""

from __future__ import annotations

import tomllib
from collections.abc import Callable

import pytest

from optimizer.scenario import Scenario, scenario
from optimizer.scenario.source import editing
from optimizer.scenario.source.positions import Layout
from optimizer.scenario.source.writing import same_density, with_same_density
from shared.errors import InputError

Read = Callable[..., Scenario]
BOTH = (("16", "15"),)


def read(text: str) -> Scenario:
    return scenario(text, file="t.toml", target_required=True)


def test_groups_are_told_in_the_file_s_order_and_loners_not_at_all() -> None:
    labels = ("16", "15", "14", "13")
    assert same_density((("13", "14"), ("16",)), labels) == [["14", "13"]]
    assert same_density((("13", "16", "15", "14"),), labels) == "all"
    assert same_density((("16",), ("15",)), labels) == "none"
    assert same_density((), labels) == "none"


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_line_is_added_below_the_material(newline: str, sound: str) -> None:
    """With the newline of the line above, below its comment."""
    old = 'shape    = { kind = "sphere", diameter = 8.500 }\nmaterial = "shell"\n'
    text = sound.replace(old, old[:-1] + "  # poured last\n").replace("\n", newline)
    above = f'material = "shell"  # poured last{newline}'
    assert with_same_density(read(text), {"cover": BOTH}) == text.replace(
        above, f'{above}same_density = "all"{newline}', 1
    )


@pytest.mark.parametrize(
    "had", ['"none"', '[["16"]]', '[ # by pairs\n  ["16"],\n  ["15"],   # alone\n]', "[]"]
)
def test_a_value_is_replaced_where_it_stands(had: str, sound: str) -> None:
    """What follows on its line stays, so does what has these groups already."""
    line = "same_density = {}   # as asked\n"
    text = sound.replace('"shell"\n\n', f'"shell"\n{line.format(had)}\n', 1)
    asked = with_same_density(read(text), {"belt": BOTH, "cover": ()})
    assert line.format(had) in asked, "the cover's weights each pour their own already"
    asked = with_same_density(read(text), {"cover": BOTH})
    assert asked == text.replace(line.format(had), line.format('"all"'))


def test_a_table_between_two_parts_stays_there(sound: str) -> None:
    """The order of a file is its author's."""
    text = sound.replace("[limits]\n", "").replace(
        '[[parts]]\nname     = "belt"', '[limits.top_weight]\nmin = 1\n[[parts]]\nname     = "belt"'
    )
    text = text[: text.index('rulebook   = "usbc"')]
    new = with_same_density(read(text), {"heart": BOTH, "belt": BOTH, "cover": BOTH})
    assert new.count("same_density") == 3
    assert "".join(x for x in new.splitlines(True) if "same_density" not in x) == text


def test_parts_written_in_one_list(sound: str) -> None:
    """Inline tables, where a comma goes before the key; nothing follows the list's last line."""
    head, _, _ = sound.partition("[[parts]]")
    shape = 'shape = { kind = "sphere", diameter = 8.5 }'
    parts = f'parts = [ {{ name = "cover", material = "shell", {shape} }} ]'
    text = f"{parts}\n{head}"
    text = text.replace("wide = 4.00\nlift = { each = { 16 = 0.30, 15 = 0.20 } }\n", "")
    new = with_same_density(read(text), {"cover": BOTH})
    assert new == text.replace('"shell",', '"shell", same_density = "all",', 1)


def test_a_file_that_ends_with_the_material(sound: str) -> None:
    head, belt, rest = sound.partition('[[parts]]\nname     = "belt"')
    belt += rest[: rest.index("\n\n[limits]")]
    text = f"{head}{rest[rest.index('[limits]') :]}\n{belt}"
    assert text.endswith('"shell"')
    assert with_same_density(read(text), {"belt": BOTH}) == f'{text}\nsame_density = "all"'


def test_labels_are_written_as_toml(sound: str) -> None:
    """Quotes and signs in a label: what is written is what is read."""
    text = sound.replace("\n16 = 15.90", '\n"1\\"6 ½\\\\" = 15.90\n14 = 14.1')
    text = text.replace("16 = 0.30", '"1\\"6 ½\\\\" = 0.3, 14 = 0.3')
    label = '1"6 ½\\'
    new = with_same_density(read(text), {"cover": ((label, "14"),)})
    assert tomllib.loads(new)["parts"][0]["same_density"] == [[label, "14"]]


def test_what_cannot_be_placed_is_refused(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    """The walk knows no places: then nothing is written rather than something else."""
    monkeypatch.setattr(editing, "layout", lambda *_: Layout())
    with pytest.raises(InputError, match=r"t\.toml: same_density can't be written"):
        with_same_density(read(), {"cover": BOTH})
