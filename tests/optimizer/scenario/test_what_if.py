"""A text that is changed by --set or a case is the text that a hand would have written."""

from __future__ import annotations

import tomllib
from types import MappingProxyType

import pytest
from optimizer_texts import SCENARIOS, plain_juniper, read, shipped

from optimizer.scenario import scenario
from optimizer.scenario.source.keys import dotted
from optimizer.scenario.source.positions import nodes, places
from optimizer.scenario.source.toml_text import toml_value
from optimizer.scenario.source.what_if import changed
from shared.errors import InputError
from shared.what_if import WhatIf

LAUREL = shipped("laurel")


def made(text: str, *sets: str, case: str | None = None):
    """The text, changed."""
    return changed(text, "line.toml", WhatIf(case, sets))


def read_changed(text: str, *sets: str, case: str | None = None):
    """The scenario of the text, changed."""
    new = made(text, *sets, case=case)
    return scenario(new.source, file="line.toml", target_required=True, stands=new.places)


def without_record(content):
    return {key: value for key, value in content.items() if key != "what_if"}


def typed(path, content) -> str:
    """A path as its key is typed."""
    if path[0] == "parts":
        path = ("parts", content["parts"][path[1]]["name"], *path[2:])
    return dotted(path)


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_any_key_may_be_set_to_what_it_is(path):
    """Then nothing else differs, and every other key stands where it stood."""
    text = path.read_text(encoding="utf-8")
    content = tomllib.loads(text)
    leaves = [
        (where, value)
        for where, value in nodes(content)
        if where[2 * (where[:1] == ("parts",)) :]
        and where[:1] != ("cases",)
        and where != ("parts",)
        and not isinstance(value, dict)
        and all(isinstance(key, str) for key in where[2 * (where[0] == "parts") :])
    ]
    assert len(leaves) > 20
    stood = places(text, content)
    for where, value in leaves[:: max(1, len(leaves) // 12)]:
        new = made(text, f"{typed(where, content)}={toml_value(value)}")
        now = tomllib.loads(new.source)
        assert without_record(now) == content
        assert now["what_if"] == {"set": [typed(where, content)]}
        same = {key: place for key, place in new.places.items() if place.said is None}
        assert same == {key: stood[key] for key in same}
        assert stood.keys() - same.keys() >= {where}


EDITS = {
    "a range": (
        "materials.dense.density=[1.6, 3.0]",
        ("density   = [1.60, 3.60]", "density = [1.6, 3.0]"),
    ),
    "a shape of a part": (
        "parts.keel.shape.height=4.9",
        ("diameter = 2.20, height = 5.00", "diameter = 2.20, height = 4.9"),
    ),
    "a key that is new": (
        'parts.cover.same_density="all"',
        ('material = "shell"', 'material = "shell"\nsame_density = "all"'),
    ),
    "a key at the top": (
        "balance_arm=4.25",
        ('revision = "A"', 'revision = "A"\nbalance_arm=4.25'),
    ),
    "a table in braces": (
        "target.rg={ min = 2.5, max = 2.6 }",
        ("rg           = 2.550", "rg = { min = 2.5, max = 2.6 }"),
    ),
    "text without quotes": ("target.about=centre", ('about        = "cg"', 'about = "centre"')),
    "a whole table": (
        "weights={16 = 15.9, 15 = 15.1}",
        ("16 = 15.90\n15 = 15.12\n14 = 14.12\n", "16 = 15.9\n15 = 15.1\n"),
    ),
    "a table that is new": (
        "materials.heavy={density = [2.0, 3.5], tolerance = 0.03}",
        ("[limits]", "[materials.heavy]\ndensity = [2.0, 3.5]\ntolerance = 0.03\n[limits]"),
    ),
}


@pytest.mark.parametrize(("text", "by_hand"), EDITS.values(), ids=EDITS)
def test_a_set_reads_like_the_same_edit_by_hand(text, by_hand):
    old, new = by_hand
    assert LAUREL.count(old) == 1
    now = without_record(tomllib.loads(made(LAUREL, text).source))
    assert now == tomllib.loads(LAUREL.replace(old, new))


def test_a_case_is_its_keys_and_sets_come_after_it():
    """Against the values that stand in the file, typed here again."""
    now = read(made(LAUREL, "target.differential=0.047", case="long").source)
    content = tomllib.loads(now.source)
    assert content["target"] == tomllib.loads(LAUREL)["target"] | {"differential": 0.047}
    spindle, keel = content["parts"][2], content["parts"][3]
    assert (spindle["shape"], spindle["at"]) == (
        {"kind": "spheroid", "diameter": 3.30, "height": 6.50},
        [0, 0, 0.20],
    )
    assert keel["shape"]["height"] == 5.40
    assert content["materials"]["dense"]["density"] == [1.60, 3.75]
    assert now.title == "Laurel, revision A, case long, with target.differential = 0.047"


def test_a_title_tells_the_values_that_the_text_has():
    """Whatever becomes of the text later: what differs from its case is told, too."""
    text = made(LAUREL, "target.rg=2.54", case="long").source
    text = text.replace("rg           = 2.54", "rg           = 2.545").replace(
        "rg = 2.54\n", "rg = 2.545\n"
    )
    text = text.replace("diameter = 2.20, height = 5.4", "diameter = 2.20, height = 5.3")
    told = "case long, with target.rg = 2.545 and parts.keel.shape.height = 5.3"
    assert read(text).title == f"Laurel, revision A, {told}"


def test_a_text_that_was_set_may_be_set_again():
    once = made(LAUREL, "weights.16=15.8", case="long").source
    twice = made(once, "target.rg=2.54", "weights.16=15.85").source
    assert read(twice).what_if == WhatIf("long", ("weights.16 = 15.85", "target.rg = 2.54"))
    with pytest.raises(InputError, match=r"^--case short: line.toml was changed already"):
        made(twice, case="short")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("materials.dens.density=[1,2]", 'there is no material "dens"; did you mean "dense"?'),
        ("parts.kel.at=[0,0,0]", 'there is no part "kel"; did you mean "keel"?'),
        (
            "parts.keel.shape.hight=5",
            'part "keel" hight: is not a key here (5); did you mean "height"?',
        ),
        ("materails.dense.density=1", 'materails is not a key here; did you mean "materials"?'),
        (
            "materials.dense.density=[3,2]",
            'material "dense" density: range is reversed ([3, 2]); lowest first',
        ),
        (
            "parts.keel.shape.height=9",
            (
                'part "keel" sticks out of "spindle" by 1.55 in at the bottom; '
                "make it shorter, or move it up"
            ),
        ),
        ("dimensions.tall=3", 'dimension "tall" is not used'),
        (
            "target.rg.min=2.5",
            (
                "target.rg is not a table; set it whole: target.rg=…; "
                'or is it a name with a dot? target."rg.min"'
            ),
        ),
        ("target.rg", "is not KEY=VALUE; such as --set materials.dense.density=[1.2,3.0]"),
        ("=2", "is not KEY=VALUE; such as --set materials.dense.density=[1.2,3.0]"),
        (
            "target.rg=",
            (
                "is no value of TOML (nothing); "
                "text goes in quotes: --set 'target.rg=\"…\"'; a list is [1.2, 3.0]"
            ),
        ),
        ("target.rg=2.5\n[units]\nrg=1", "is more than one KEY=VALUE; use --set for each"),
        ("target.rg=inf", "is not a value that a scenario has (inf); see its grammar"),
        ("name=2020-01-01", "is not a value that a scenario has (2020-01-01); see its grammar"),
        ("cases.long.target.rg=2.5", "cases.long.target.rg can't be set"),
        ('what_if.case="long"', "what_if.case can't be set"),
    ],
)
def test_what_cannot_be_set_is_one_clear_error(text, told):
    """Told of the option, not of a line of the file: the file is right."""
    with pytest.raises(InputError) as error:
        read_changed(LAUREL, text)
    (problem,) = error.value.problems
    assert str(problem) == f"--set {text}: {told}".replace("\n", "�")
    assert (problem.file, problem.line) == (None, None)


def test_a_mistake_in_a_case_is_told_at_its_line():
    text = LAUREL.replace("parts.keel.shape.height = 5.40", "parts.keel.shape.hight = 5.40")
    with pytest.raises(InputError) as error:
        read_changed(text, case="long")
    line = 1 + text.splitlines().index("parts.keel.shape.hight = 5.40")
    assert [problem.line for problem in error.value.problems] == [line]
    with pytest.raises(InputError) as error:
        made(text.replace("parts.keel.shape.hight", "parts.kiel.at"), case="long")
    assert str(error.value) == f'line.toml:{line}:1: there is no part "kiel"; did you mean "keel"?'


def test_mistakes_in_the_file_keep_their_lines():
    text = plain_juniper().replace("differential = 0.040", "diferential = 0.040")
    with pytest.raises(InputError) as error:
        read_changed(text, "balance_arm=4.25", "materials.dense.density=[1.6, 3.0]")
    line = 1 + next(k for k, row in enumerate(text.splitlines()) if row.startswith("diferential"))
    assert [problem.line for problem in error.value.problems] == [line]


@pytest.mark.parametrize(
    ("record", "told"),
    [
        ('case = "lung"', 'what_if case: is not a case ("lung"); did you mean "long"?'),
        (
            'set = ["target.rg", "target.rh"]',
            'what_if set [2]: is not a key of this file ("target.rh"); leave it out',
        ),
        (
            'set = ["cases.long"]',
            'what_if set [1]: is not a key of this file ("cases.long"); leave it out',
        ),
        ('set = ["a b"]', 'what_if set [1]: is not a key of this file ("a b"); leave it out'),
    ],
)
def test_what_a_text_says_of_itself_is_checked(record, told):
    with pytest.raises(InputError) as error:
        read(f"{LAUREL}\n[what_if]\n{record}\n")
    assert str(error.value).partition(": ")[2] == told


def test_nothing_asked_changes_nothing():
    assert made(LAUREL).source == LAUREL
    assert made(LAUREL, case="as-written").source == LAUREL
    assert read(LAUREL).what_if == WhatIf()


def test_options_and_data_say_the_same():
    what = WhatIf("long", ("a = [1, 2]",))
    assert what.options == " --case long --set 'a = [1, 2]'"
    assert WhatIf.read(what.data) == what
    for data in (None, 5, {"case": 1, "set": []}, {"case": None, "set": [1]}, MappingProxyType({})):
        assert not WhatIf.read(data)


def test_what_a_set_leaves_out_is_told_of_the_set():
    """A table in braces replaces the whole table: the keys that it lacks stand on no line."""
    with pytest.raises(InputError) as error:
        read_changed(LAUREL, "target={rg=2.5}")
    told = [(problem.line, str(problem).partition("; ")[0]) for problem in error.value.problems]
    missing = ("differential", "tolerance")
    assert told == [(None, f"--set target={{rg=2.5}}: target {key}: is missing") for key in missing]


@pytest.mark.parametrize("key", ["target", "weights", "materials.dense", "parts", "parts.keel"])
def test_a_table_is_not_set_to_a_number(key):
    with pytest.raises(InputError, match=r"can't be written into this file; set each key in it$"):
        made(LAUREL, f"{key}=5")


def test_a_case_or_a_set_may_seek_a_number():
    """And the file as it is written seeks none."""
    goal = '{ min = 2.5, max = 2.6, goal = "most" }'
    text = LAUREL.replace("[cases.long]", f"[cases.most]\ntarget.rg = {goal}\n\n[cases.long]")
    assert read(text).goal is None
    for new in (made(text, case="most"), made(LAUREL, f"target.rg={goal}")):
        sought = read(new.source).goal
        assert (sought.path, sought.sense) == (("target", "rg"), "most")
    assert read(made(text, case="long").source).goal is None
