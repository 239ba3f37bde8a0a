"""Parts that are set into several hosts, as a scenario says them."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from optimizer_texts import shipped

from geometry.solids.common import common
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.schedule.pouring.casting import castings
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.questions.why_not.changes.redrawn import redrawings
from optimizer.scenario import linear_maps, scenario
from optimizer.scenario.source.writing import part_text
from shared.errors import InputError

HOLLY = shipped("holly")
HOSTS = 'inside   = ["cover", "mantle"]'
SIZE = "height = 0.75 }\nat       = [0, 0, 3.875]"

TALL = "[dimensions]\ntall = { min = 0.7, max = 0.76 }\n[limits]"
BED = "[dimensions]\nbed = { min = 7.4, max = 7.5 }\n[limits]"


def read(text: str):
    return scenario(text, file="holly.toml", target_required=True)


def changed(*swaps: tuple[str, str]) -> str:
    text = HOLLY
    for old, new in swaps:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize(
    ("swaps", "said"),
    [
        ([(HOSTS, 'inside = ["mantle", "cover"]')], 'which isn\'t directly inside "mantle"'),
        ([(HOSTS, 'inside = ["cover", "stem"]')], 'which isn\'t directly inside "cover"'),
        ([(HOSTS, 'inside = ["cover", "mantel"]')], 'did you mean "mantle"?'),
        ([(HOSTS, "inside = []")], "is empty"),
        ([(HOSTS, 'inside = ["cover", 3]')], "is not text (3)"),
        ([(SIZE, "height = 0.30 }\nat = [0, 0, 4.08]")], 'doesn\'t reach into "mantle"'),
        ([(SIZE, "height = 0.20 }\nat = [0, 0, 3.55]")], 'lies entirely in "mantle"'),
        ([(SIZE, "height = 0.75 }\nat = [0, 0, 3.93]")], 'sticks out of "cover"'),
        ([(SIZE, "height = 1.40 }\nat = [0, 0, 3.55]")], 'overlaps "plug"'),
        (
            [
                ("height = 0.75", 'height = "tall"'),
                ("[limits]", "[dimensions]\ntall = { min = 0.7, max = 0.76 }\n[limits]"),
            ],
            'is free, but is used in "plug", where a part is set into several',
        ),
        (
            [
                ("diameter = 7.450", 'diameter = "bed"'),
                ("[limits]", "[dimensions]\nbed = { min = 7.4, max = 7.5 }\n[limits]"),
            ],
            'is free, but is used in "mantle"',
        ),
    ],
)
def test_what_can_not_be_is_refused_with_its_line(swaps, said):
    with pytest.raises(InputError) as error:
        read(changed(*swaps))
    assert said in str(error.value)
    assert str(error.value).startswith("holly.toml:")


def test_it_is_written_as_it_is_read():
    told = read(HOLLY)
    part = told.classes[0].parts[-1]
    assert part.hosts == ("cover", "mantle")
    assert part_text(part, told)["inside"] == ["cover", "mantle"]
    plain = [one for one in tomllib.loads(HOLLY)["parts"] if one["name"] == "plug"]
    assert part_text(part, told) == plain[0]


def test_it_stands_only_where_all_its_hosts_do():
    told = read(changed((HOSTS, HOSTS + '\nonly_in = ["16"]')))
    assert [len(one.parts) for one in told.classes] == [5, 4, 4]


def test_the_wall_to_the_surface_is_no_question_of_tolerances():
    result = solve_lineup(read(HOLLY))
    (margin,) = {m for m in result.weights[0].margins if m.part == ("plug", "cover")}
    assert (margin.edge, margin.tolerances) == (0.0, None)
    assert result.smallest is not None
    assert result.smallest.part != ("plug", "cover")


def test_hosts_are_cast_with_the_room_that_is_drilled_out():
    """Cover and mantle are poured by as much more as the plug takes of each, and it comes last."""
    told = read(HOLLY)
    one = linear_maps(told)[0]
    densities = {"cover": 1.2, "mantle": 1.0, "stem": 2.6, "heart": 3.5, "plug": 1.18}
    made = {c.part.name: c for c in castings(one, densities, Shop(told), 1)}
    assert list(made) == ["heart", "stem", "mantle", "cover", "plug"]
    parts = {part.name: part for part in one.parts}
    shared = common(parts["plug"], parts["mantle"]).moments.volume
    rest = parts["plug"].moments().volume - shared
    more = {name: c.cast / c.finished - 1 for name, c in made.items()}
    volumes = dict(zip(parts, one.volumes, strict=True))
    assert more["mantle"] == pytest.approx(shared / volumes["mantle"], rel=1e-9)
    assert more["cover"] == pytest.approx(rest / volumes["cover"], rel=1e-9)
    assert more["plug"] == more["stem"] == 0.0
    assert [held.part for held in made["cover"].held] == ["mantle"]
    whole = sum(c.finished for c in made.values())
    assert whole == pytest.approx(float(one.volumes @ np.array([densities[n] for n in parts])))


def test_a_dimension_of_a_plug_is_no_remedy():
    """What is shared with a plug has no gradient, so no such dimension can be sought."""
    text = HOLLY.replace("height = 0.75 }", 'height = "deep" }').replace(
        "diameter = 1.90", 'diameter = "wide"'
    )
    text = text.replace(
        "[materials.shell]", "[dimensions]\ndeep = 0.75\nwide = 1.90\n[materials.shell]", 1
    )
    assert [move.about for move in redrawings(read(text))] == ["wide"]
