"""`only_in`: which weights a part stands in, what is wrong with it, and where that is told."""

from __future__ import annotations

import pytest
import two_cores

from optimizer.questions.compare.differences import Difference, differences
from optimizer.scenario import linear_maps, scenario
from optimizer.scenario.dimensions import part_lengths
from optimizer.scenario.source.writing import with_same_density
from optimizer.scenario.text.schema import scenario_schema
from shared.errors import InputError

SPINDLE = 'only_in = ["15", "14"]'
LIGHT = 'only_in = ["12"]'


def _read(text, **how):
    return scenario(text, file="t.toml", target_required=True, **how)


def _told(old, new, count=1):
    text = two_cores.text()
    assert old in text
    with pytest.raises(InputError) as error:
        _read(text.replace(old, new, count))
    told = str(error.value).splitlines()
    return [line.partition(": ")[2] for line in told]


def test_what_stands_inside_goes_with_its_host():
    read = _read(two_cores.text())
    assert read.warnings == ()
    assert read.standing("cover") == read.labels == ("15", "14", "12")
    assert read.standing("keel") == read.standing("spindle") == ("15", "14")
    assert read.standing("light keel") == ("12",)
    for one in linear_maps(read):
        names = [part.name for part in one.parts]
        assert [pour.part for pour in one.pours] == names
        assert names == [part for part in two_cores.DRAWN if one.label in two_cores.standing(part)]
        assert len(one.moments) == len(names)
        assert {name for wall in one.walls for name in wall.between} == set(names)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            LIGHT,
            'only_in = ["13"]',
            'part "light spindle" only_in [1]: is not a weight ("13"); known: "15", "14", "12"',
        ),
        (
            LIGHT,
            'only_in = ["12", "12"]',
            'part "light spindle" only_in [2]: is listed twice ("12"); keep one',
        ),
        (
            LIGHT,
            "only_in = []",
            'part "light spindle" only_in: is empty ([]); name the weights, or leave it out',
        ),
        (
            LIGHT,
            "only_in = [12]",
            'part "light spindle" only_in [1]: is not text (12); write it in quotes',
        ),
        (
            LIGHT,
            'only_in = "12"',
            'part "light spindle" only_in: is not a list ("12"); write [ …, … ]',
        ),
        (
            'name = "cover"',
            'name = "cover"\nonly_in = ["12"]',
            (
                'part "cover" only_in: can\'t be given for the outermost part, the ball: it is in '
                'every weight (["12"]); leave it out'
            ),
        ),
        (
            'name = "keel"',
            'name = "keel"\nonly_in = ["15", "12"]',
            (
                'part "keel" only_in [2]: is a weight without "spindle", which it is inside '
                '("12"); "spindle" is only in "15", "14"'
            ),
        ),
        (
            'name = "keel"',
            'name = "keel"\nsame_density = [["15", "12"]]',
            (
                'part "keel" same_density [1] [2]: is a weight that this part is not in ("12"); '
                'leave it out; known: "15", "14"'
            ),
        ),
        (
            "tolerance = 0.02 }",
            'tolerance = 0.02, except = [{ between = ["spindle", "light spindle"], min = 0.1 }] }',
            (
                "limits wall except [1] between: are in no weight together "
                '(["spindle", "light spindle"]); leave this out'
            ),
        ),
    ],
)
def test_one_mistake_gives_one_clear_error(old, new, told):
    assert _told(old, new) == [told]


def test_a_misfit_is_told_of_the_part_that_it_is_of():
    """Its place in the file, not in the weight; no weights are told where it is in all it has."""
    assert _told(
        '"light keel"\nshape = { kind = "spheroid", diameter = 2.0',
        '"light keel"\nshape = { kind = "spheroid", diameter = 3.4',
    ) == [
        (
            'part "light keel" sticks out of "light spindle" by 0.103 in at the side; make it '
            "narrower, or move it down"
        )
    ]
    text = two_cores.text().replace("diameter = 2.4,", "diameter = 3.6,")
    line = next(n for n, row in enumerate(text.splitlines(), start=1) if '"keel"' in row) - 1
    with pytest.raises(InputError, match=rf't\.toml:{line}:1: part "keel" sticks out'):
        _read(text)


def test_all_weights_is_the_same_as_leaving_it_out():
    text = two_cores.text().replace(
        'name = "mantle"', 'name = "mantle"\nonly_in = ["12", "14", "15"]'
    )
    (warning,) = _read(text).warnings
    assert warning.endswith(
        'part "mantle" only_in: names every weight (["12", "14", "15"]); it can be left out'
    )
    assert differences(_read(two_cores.text()), _read(text)) == ()


def _with(dimension, text=None):
    text = (two_cores.text() if text is None else text).replace(
        "diameter = 3.2,", 'diameter = "thin",'
    )
    return text.replace("[weights]", f"[dimensions]\nthin = {dimension}\n\n[weights]")


def test_a_dimension_is_of_the_weights_in_which_its_parts_stand():
    read = _read(_with("{ each = { 12 = 3.2 } }"))
    assert read.warnings == ()
    assert read.having("thin") == ("12",)
    assert read.named("12") == {"thin": 3.2}
    assert read.named("15") == {}
    (free,) = _read(_with("{ min = 3.0, max = 3.3 }")).free
    assert free.groups == (("12",),)
    (rack,) = _read(_with('{ one_of = [3.0, 3.2], same = "all" }')).rack
    assert rack.groups == (("12",),)
    assert part_lengths({"parts": []}) == frozenset()


@pytest.mark.parametrize(
    ("dimension", "told"),
    [
        (
            "{ each = { 15 = 3.2 } }",
            'dimension "thin" each: has no value for weight "12"; add one',
        ),
        (
            '{ min = 3.0, max = 3.3, same = [["15", "12"]] }',
            (
                'dimension "thin" same [1] [1]: is a weight with no part that uses this '
                'dimension ("15"); leave it out; known: "12"'
            ),
        ),
        (
            "{ each = { 15 = 3.1, 12 = -3.2 } }",
            'part "light spindle" diameter: must be more than 0 ("thin")',
        ),
    ],
)
def test_what_is_wrong_with_a_dimension_of_some_weights(dimension, told):
    with pytest.raises(InputError) as error:
        _read(_with(dimension))
    (line,) = str(error.value).splitlines()
    assert line.partition(": ")[2] == told


def test_a_value_for_a_weight_without_the_part_is_not_used():
    """Whatever it is: another one's parts are not read by it."""
    read = _read(_with("{ each = { 15 = -1.0, 12 = 3.2 } }"))
    (warning,) = read.warnings
    assert "each 15" in warning
    assert "no part with this dimension is in that weight" in warning
    assert read.named("15") == {}


def test_what_differs_says_the_weights_that_a_part_stands_in():
    old = _read(two_cores.text())
    assert differences(old, _read(two_cores.text().replace('["15", "14"]', '["14", "15"]'))) == ()
    new = _read(two_cores.text().replace(SPINDLE, 'only_in = ["15"]', 1))
    assert differences(old, new) == (
        Difference(("parts", "spindle", "only_in"), ("14", "15"), ("15",)),
        Difference(("parts", "keel", "only_in"), ("14", "15"), ("15",)),
    )


def test_one_density_in_all_its_weights_is_written_as_all():
    read = _read(two_cores.text())
    text = with_same_density(read, {"spindle": (("15", "14"),), "cover": (("14", "12"),)})
    assert 'material = "filled"\nsame_density = "all"\ninside = "mantle"' in text
    again = _read(text)
    assert again.sharing["spindle"] == (("15", "14"),)
    assert again.sharing["cover"] == (("14", "12"),)


def test_the_schema_knows_it():
    key = scenario_schema()["$defs"]["PartText"]["properties"]["only_in"]
    assert {"items": {"type": "string"}, "minItems": 1, "type": "array"} in key["anyOf"]
    assert key["description"].startswith("labels of the weights that it is in")
