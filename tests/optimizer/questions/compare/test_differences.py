"""What differs in the input: everything that does is named, and nothing else."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from optimizer_texts import FOLDER, INCHES, METRIC, SCENARIOS, cover, head, shipped

from optimizer.paper.quantities import Units
from optimizer.questions.compare.differences import differences
from optimizer.questions.compare.input_words import difference_line
from optimizer.scenario import scenario
from shared.errors import InputError

TEXT = shipped("juniper")


def read(text: str):
    return scenario(text, file="x.toml", files=FOLDER, target_required=True)


def lines(old: str, new: str) -> list[str]:
    first = read(old)
    return [
        difference_line(difference, Units.of(first)) for difference in differences(first, read(new))
    ]


def toml(value, *, backwards: bool = False) -> str:
    """Any content in one line a key, in the order of the keys or from the last to the first."""

    def inline(one) -> str:
        if isinstance(one, dict):
            return "{" + ", ".join(f"{json.dumps(k)} = {inline(v)}" for k, v in ordered(one)) + "}"
        if isinstance(one, list):
            return "[" + ", ".join(map(inline, one)) + "]"
        return json.dumps(one) if isinstance(one, str | bool) else repr(one)

    def ordered(table):
        return reversed(list(table.items())) if backwards else table.items()

    return "".join(f"{json.dumps(key)} = {inline(one)}\n" for key, one in ordered(value))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_comments_and_the_order_of_keys_are_no_difference(path: Path):
    text = path.read_text(encoding="utf-8")
    content = tomllib.loads(text)
    assert lines(text, toml(content)) == []
    assert lines(text, toml(content, backwards=True)) == []


def leaves(value, path=()):
    if isinstance(value, dict | list):
        for key, one in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(one, (*path, key))
    else:
        yield path, value


def changed(content, path, value):
    copy = json.loads(json.dumps(content))
    inner = copy
    for key in path[:-1]:
        inner = inner[key]
    if value is None:
        del inner[path[-1]]
    else:
        inner[path[-1]] = value
    return copy


NUMBERS = [
    (path, place, value)
    for path in SCENARIOS
    for place, value in leaves(tomllib.loads(path.read_text(encoding="utf-8")))
    if isinstance(value, int | float) and not isinstance(value, bool)
]


@given(st.sampled_from(NUMBERS), st.floats(-0.02, 0.02).filter(lambda x: abs(x) > 1e-6))
def test_any_number_that_is_changed_is_named(which, by):
    """A change of one number is one difference, told with the value before and after."""
    path, place, value = which
    text = path.read_text(encoding="utf-8")
    new = toml(changed(tomllib.loads(text), place, value * (1.0 + by) if value else by))
    try:
        told = lines(text, new)
    except InputError:  # no longer a scenario
        return
    assert told
    if place[-2:] == ("density", 0) or "density" not in place:
        assert len(told) == 1


WORDS = [
    (path, place)
    for path in SCENARIOS
    for place, value in leaves(tomllib.loads(path.read_text(encoding="utf-8")))
    if isinstance(value, str)
]
OTHERS = ("all", "none", "centre", "cg", "mantle", "shell", "dense", "filled", "epoxy", "other")


@given(st.sampled_from(WORDS), st.sampled_from(OTHERS))
def test_any_word_that_is_changed_is_named(which, other):
    path, place = which
    text = path.read_text(encoding="utf-8")
    content = tomllib.loads(text)
    new = changed(content, place, other)
    try:
        told = lines(text, toml(new))
    except InputError:
        return
    assert bool(told) == (new != content)


OPTIONAL = [
    (path, (*place, key))
    for path in SCENARIOS
    for place, table in [
        ((), tomllib.loads(path.read_text(encoding="utf-8"))),
        *(
            ((name,), tomllib.loads(path.read_text(encoding="utf-8")).get(name, {}))
            for name in ("limits", "foundry", "target", "weights", "materials", "dimensions")
        ),
    ]
    for key in table
]


@pytest.mark.parametrize("which", OPTIONAL, ids=lambda w: f"{w[0].stem}-{'-'.join(w[1])}")
def test_whatever_is_left_out_is_named(which):
    """But a key that says what is so without it."""
    path, place = which
    text = path.read_text(encoding="utf-8")
    content = tomllib.loads(text)
    try:
        told = lines(text, toml(changed(content, place, None)))
    except InputError:
        return
    plain = {("target", "about"): "cg", ("foundry", "status"): "draft"}
    assert bool(told) == (place not in plain or content[place[0]][place[1]] != plain[place])


IN_INCHES = {"length": 1.0, "weight": 1.0, "density": 1.0, "rg": 1.0}
IN_METRIC = {"length": 25.4, "weight": 0.45359237, "density": 1000.0, "rg": 25.4}


def drawn(of: dict[str, float], names: dict[str, str]) -> str:
    length, mass, density, rg = of.values()
    target = 2.55 * rg, f"{{ min = {0.03 * rg}, max = {0.04 * rg} }}"
    tolerance = 0.06 * mass, 0.003 * rg, 0.001 * rg
    top = head("Aspen", {"15": 15.1 * mass}, target, units=names, tolerance=tolerance)
    ball = cover(8.58 * length, 0.6 * density, 3.0 * density, 0.02 * density)
    return f"""{top}
[dimensions]
belly = {{ min = {3.1 * length!r}, max = {3.6 * length!r} }}
{ball}
[[parts]]
name = "block"
inside = "cover"
shape = {{ kind = "spheroid", diameter = "belly", height = {5.0 * length!r} }}
at = [0, 0, {0.1 * length!r}]
material = "any"
[limits]
top_weight = {{ min = 1.0, max = 4.0 }}
[limits.wall]
min = {0.2 * length!r}
except = [{{ between = ["block", "cover"], min = {0.1 * length!r} }}]
"""


def test_the_same_drawing_in_other_units_differs_in_units_only():
    told = lines(drawn(IN_INCHES, INCHES), drawn(IN_METRIC, METRIC))
    assert told == [
        "unit of length: in → mm",
        "unit of weight: lb → kg",
        "unit of density: g/cm3 → kg/m3",
        "unit of RG: in → mm",
    ]


def test_a_change_is_told_in_the_readers_units():
    """Old and new in those of the first: 7.5 mm more of 127 mm are 5 in and 5.29528 in."""
    new = drawn(IN_METRIC, METRIC).replace("height = 127.0", "height = 134.5")
    told = lines(drawn(IN_INCHES, INCHES), new)
    assert told[4:] == ["part block, height: 5 in → 5.29528 in"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("rg           = 2.550", "rg = 2.56", "target, low RG: 2.55 in → 2.56 in"),
        (
            "differential = 0.040",
            "differential = { min = 0.03, max = 0.04 }",
            "target, differential: 0.04 in → 0.03 to 0.04 in",
        ),
        ("15 = 15.12", "15 = 15.10", "weight class 15, weight asked for: 15.12 lb → 15.1 lb"),
        ("13 = 13.12", "", "weight class 13: not here (weight asked for 13.12 lb)"),
        (
            '{ kind = "capsule", diameter = 2.20, height = 5.00 }',
            '{ kind = "cylinder", diameter = 2.1, height = 4.0 }',
            (
                "part keel, shape: kind capsule, diameter 2.2 in, height 5 in → "
                "kind cylinder, diameter 2.1 in, height 4 in"
            ),
        ),
        ("0, 0, 0.20]", "0, 0, 0.25]", "part keel, place: [0, 0, 0.2] in → [0, 0, 0.25] in"),
        ("min = 1.0, max", "min = 0.5, max", "limits, top weight, min: 1 oz → 0.5 oz"),
        ("hold_down  = 40", "hold_down = 30", "shop, hold down: 40 N → 30 N"),
        (
            "tolerance = 0.025",
            "tolerance = 0.02",
            "material filled, tolerance: 0.025 g/cm³ → 0.02 g/cm³",
        ),
        (
            '# same_density = "all"  ',
            'same_density = [["16", "15"], ["14", "13"]] #',
            "part cover, weights with one density: none → 16, 15; 14, 13",
        ),
        (
            'heavy = ["calcite"]',
            'heavy = ["calcite", "barite"]',
            "material shell, recipe, heavy: calcite → calcite, barite",
        ),
        ("scale      = 1.0", "scale = 1.0000002", "shop, scale: 1 g → 1.0000002 g"),
    ],
)
def test_changes_in_words(old, new, told):
    assert TEXT.count(old) == 1
    assert lines(TEXT, TEXT.replace(old, new)) == [told]


def test_parts_that_come_go_or_change_places():
    gone = TEXT.replace(
        TEXT[TEXT.index('[[parts]]\nname     = "girdle"') : TEXT.index("[limits]")], ""
    )
    gone = gone.replace(', except = [{ between = ["girdle", "spindle"], min = 0.10 }]', "")
    assert "part girdle: not here" in lines(TEXT, gone)
    assert "part girdle: only here" in lines(gone, TEXT)
    content = tomllib.loads(TEXT)
    content["parts"].append(content["parts"].pop(2))
    (told,) = lines(TEXT, toml(content))
    old, new = "cover, mantle, spindle, keel, girdle", "cover, mantle, keel, girdle, spindle"
    assert told == f"order of the parts: {old} → {new}"


def test_a_long_value_is_said_to_differ():
    """An outline of many corners can't be read in a line."""
    corners = ", ".join(
        f"[{r}, {z}]" for r, z in [(0, -2), (1, -2), (1, -1), (1.2, 0), (1, 1), (1, 2)]
    )
    shape = f'{{ kind = "revolved", outline = [{corners}, [0, 2]] }}'
    old = TEXT.replace('{ kind = "capsule", diameter = 2.20, height = 5.00 }', shape)
    assert lines(old, old.replace("[1.2, 0]", "[1.25, 0]")) == ["part keel, outline differs"]


def test_dimensions_as_picked_are_told_once():
    """The lengths that follow them are named by them."""
    old = drawn(IN_INCHES, INCHES)
    first, second = (
        scenario(old, file="x", target_required=True, chosen={"belly": {"15": value}})
        for value in (3.2, 3.3)
    )
    (one,) = differences(first, second)
    told = difference_line(one, Units.of(first))
    assert told == "dimension belly as picked: 3.2 in → 3.3 in"


def test_a_name_that_is_a_key_elsewhere_has_no_unit_of_it():
    """A material may be called scale, and a part at."""
    old = TEXT.replace("[materials.dense]", "[materials.scale]").replace('"dense"', '"scale"')
    old = old.replace('"keel"', '"at"')
    new = old.replace("viscosity = 6,", "viscosity = 7,")
    assert lines(old, new) == ["material scale, recipe, viscosity: 6 → 7"]
    swapped = old.replace(
        'at       = [0, 0, 0.20]\nmaterial = "scale"', 'at = [0, 0, 0.20]\nmaterial = "filled"'
    )
    assert lines(old, swapped) == ["part at, material: scale → filled"]
