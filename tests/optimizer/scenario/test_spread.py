"""The table [spread]: what it may say, and the text of each error.

The table stands below the sound scenario of conftest.py.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable

import pytest
from jsonschema import Draft202012Validator

from optimizer.scenario import Scenario, scenario
from optimizer.scenario.text.schema import scenario_schema
from optimizer.spread.distribution import Normal, Triangular, Uniform
from shared.errors import InputError

LESS = "give less; is it in the unit given in [units]?"

WRONG = {
    "negative": ("diameter = -0.01", "diameter: must be more than 0 (-0.01)"),
    "zero": ("diameter = 0", "diameter: must be more than 0 (0)"),
    "not a number": ("diameter = nan", "diameter: is not a finite number (nan)"),
    "negative sd": ("diameter = { ^sd = -1 }", "diameter sd: must be more than 0 (-1)"),
    "two kinds at once": (
        "diameter = { uniform = 0.01, sd = 0.01 }",
        "diameter: says two things: uniform, sd; give one of uniform, triangular and sd",
    ),
    "no kind": (
        "diameter = { measured = 20 }",
        "diameter: says nothing; give one of uniform, triangular and sd",
    ),
    "a bound of nothing": (
        "diameter = { uniform = 0.01, bound = 0.02 }",
        "diameter: has a bound, but no sd; a bound cuts off a normal",
    ),
    "measured once": (
        "diameter = { sd = 0.01, ^measured = 1 }",
        "diameter measured: is too small (1); at least 2",
    ),
    "measured in halves": (
        "diameter = { sd = 0.01, ^measured = 2.5 }",
        "diameter measured: is not a whole number (2.5)",
    ),
    "a share above all": (
        "least_share = 1.2",
        "least_share: is too large (1.2); at most 1",
    ),
    "a figure beside axes": (
        "position = { core = { x = 0.01, ^sd = 0.01 } }",
        (
            'position core sd: is not a key here (0.01); known: "x", "y", "z", "declared", '
            '"uniform", "triangular", "bound", "measured", "least", "price"'
        ),
    ),
    "a dimension's name": ('diameter = "wide"', 'diameter: is not a number ("wide")'),
    "a misspelt kind": (
        "position = { core = { ^unifrom = 0.01 } }",
        'position core unifrom: is not a key here (0.01); did you mean "uniform"?',
    ),
    "a reading of ± that isn't": (
        'declared = "4 sigma"',
        (
            'declared: is not one of the choices ("4 sigma"); write "uniform", "2 sigma" or '
            '"3 sigma"'
        ),
    ),
    "a tilt of a right angle": ("tilt.core = 90", "tilt core: is too large (90); at most 45"),
    # names
    "a density of no part": (
        "density.cor = 0.01",
        'density cor: is not a part; did you mean "core"?',
    ),
    "a position of no part": (
        "position.haert = 0.01",
        'position haert: is not a part; did you mean "heart"?',
    ),
    "a tilt of no part": ("tilt.bolt = 1", 'tilt bolt: is not a part; did you mean "belt"?'),
    "the ball out of place": (
        "position.cover = 0.01",
        (
            "position cover: is the ball itself; how far it is turned off the core goes "
            "under [spread] centre"
        ),
    ),
    "the ball tilted": (
        "tilt.cover = 1",
        "tilt cover: is the ball itself; leave it out: a sphere has no tilt",
    ),
    "no such dimension": (
        "dimensions.wade = 0.01",
        'dimensions wade: is not a dimension of a part inside the ball; did you mean "wide"?',
    ),
    "a batch for no weight": (
        'density.core = { uniform = 0.01, batch = [["16", ^"17"]] }',
        'density core batch [1] [2]: is not a weight ("17"); known: "16", "15"',
    ),
    "a weight in two batches": (
        'density.core = { uniform = 0.01, batch = [["16"], [^"16"]] }',
        'density core batch [2] [1]: is listed twice ("16"); a weight is in one group at most',
    ),
    "a batch in another word": (
        'density.core = { uniform = 0.01, ^batch = "one" }',
        'density core batch: is not one of the choices ("one"); write "all" or "none"',
    ),
    # wider than there is: 1.22 − 1.12; 0.80; 8.500/2; 15.12 lb
    "wider than the range": (
        "density.cover = 0.2",
        f"density cover: is more than the range that can be poured, 0.1 g/cm3 (0.2); {LESS}",
    ),
    "wider than a density that is given": (
        "density.core = 0.9",
        f"density core: is more than the density itself, 0.8 g/cm3 (0.9); {LESS}",
    ),
    "a batch wider in itself than the range": (
        "density.cover = { uniform = 0.01, within = { ^triangular = 0.11 } }",
        (
            "density cover within triangular: is more than the range that can be poured, 0.1 "
            f"g/cm3 (0.11); {LESS}"
        ),
    ),
    "a wide normal": (
        "density.cover = { ^sd = 0.034 }",
        (
            "density cover sd: three standard deviations are more than the range that can be "
            f"poured, 0.1 g/cm3 (0.034); {LESS}"
        ),
    ),
    "farther off than the ball": (
        "position.core = 4.3",
        f"position core: is more than the ball's radius, 4.25 in (4.3); {LESS}",
    ),
    "farther off than the ball along one axis": (
        "position.core = { x = 0.1, y = { ^uniform = 4.3 } }",
        f"position core y uniform: is more than the ball's radius, 4.25 in (4.3); {LESS}",
    ),
    "a centre outside": (
        "centre = { ^z = 4.3 }",
        f"centre z: is more than the ball's radius, 4.25 in (4.3); {LESS}",
    ),
    "a diameter in the wrong unit": (
        "diameter = 5.1",
        f"diameter: is more than the ball's radius, 4.25 in (5.1); {LESS}",
    ),
    "a dimension in the wrong unit": (
        "dimensions.wide = 5.1",
        f"dimensions wide: is more than the ball's radius, 4.25 in (5.1); {LESS}",
    ),
    "a scale that reads anything": (
        "scale = 16",
        f"scale: is more than the lightest ball, 15.12 lb (16); {LESS}",
    ),
    # correlations
    "a correlation above 1": (
        'correlation = [{ between = ["core density", "diameter"], ^r = 1.5 }]',
        "correlation [1] r: must be less than 1 (1.5)",
    ),
    "a correlation of -1": (
        'correlation = [{ between = ["core density", "diameter"], ^r = -1 }]',
        "correlation [1] r: must be more than -1 (-1)",
    ),
    "a correlation with itself": (
        'correlation = [{ ^between = ["diameter", "diameter"], r = 0.5 }]',
        'correlation [1] between: names one quantity twice (["diameter", "diameter"]); name two',
    ),
    "a correlation twice": (
        'correlation = [{ between = ["a", "b"], r = 0.5 }, { ^between = ["b", "a"], r = 0.5 }]',
        'correlation [2] between: is listed twice (["b", "a"]); keep one',
    ),
}
"""What [spread] says, the place that is meant after a ^, and the error."""


@pytest.mark.parametrize(("text", "told"), WRONG.values(), ids=WRONG.keys())
def test_one_mistake_gives_one_clear_error(sound: str, text: str, told: str) -> None:
    line, column = sound.count("\n") + 2, text.find("^") + 1 or 1
    source = f"{sound}[spread]\n{text.replace('^', '')}\n"
    with pytest.raises(InputError) as error:
        scenario(source, file="t.toml", target_required=True)
    assert str(error.value) == f"t.toml:{line}:{column}: spread {told}"
    assert error.value.exit_code == 3


SHORT = """\
[spread]
declared = "2 sigma"
density  = { core = 0.02, cover = { uniform = 0.01, within = 0.004, batch = "all", measured = 9 } }
position = { core = 0.01, belt = { z = { sd = 0.02, bound = 0.05 } }, heart = { triangular = 0.1 } }
tilt     = { core = 0.5, heart = { uniform = 1 } }
diameter = 0.006
centre   = { x = 0.01, y = 0.01 }
scale    = { uniform = 0.02 }
dimensions.wide = 0.01
correlation = [{ between = ["core density", "diameter"], r = -0.5 }]
"""


@pytest.fixture
def short(sound: str) -> Callable[[], Scenario]:
    """A function that reads the sound scenario with SHORT below it."""
    return lambda: scenario(sound + SHORT, file="t.toml", target_required=True)


def test_a_number_alone_is_read_as_declared(short: Callable[[], Scenario]) -> None:
    """± 0.02 g/cm³ at two sigma is a normal of 0.01; an inch is 2.54 cm."""
    spread = short().text.spread
    assert spread is not None
    how = spread.declared
    assert spread.density["core"].distribution(how) == Normal(deviation=0.01)
    assert spread.density["cover"].distribution(how) == Uniform(half=0.01, count=9)
    within = spread.density["cover"].within
    assert within is not None
    assert within.distribution(how) == Normal(deviation=0.002)
    x, z = spread.position["core"].x, spread.position["belt"].z
    assert x is not None
    assert z is not None
    assert x.distribution(how).sd == pytest.approx(0.0127, rel=1e-12)
    assert (spread.position["belt"].x, spread.position["belt"].y) == (None, None)
    assert z.distribution(how) == Normal(deviation=0.02 * 2.54, bound=0.05 * 2.54)
    y = spread.position["heart"].y
    assert y is not None
    assert y.distribution(how) == Triangular(half=0.1 * 2.54)
    lean = spread.tilt["heart"].distribution(how, math.pi / 180)
    assert lean == Uniform(half=math.pi / 180)


def test_left_out_a_declared_number_is_the_ends(sound: str) -> None:
    read = scenario(f"{sound}[spread]\ndiameter = 0.01\n", file="t.toml", target_required=True)
    spread = read.text.spread
    assert spread is not None
    assert spread.diameter is not None
    assert spread.diameter.distribution(spread.declared) == Uniform(half=0.01 * 2.54)


def test_the_schema_has_every_form(sound: str) -> None:
    """As an independent validator reads it; short forms, axes, and what is misspelt."""
    validator = Draft202012Validator(scenario_schema())
    assert validator.is_valid(tomllib.loads(sound + SHORT))
    for wrong in ("diameter = -1", 'diameter = "wide"', "diameter = { sdd = 1 }", "core = 1"):
        assert not validator.is_valid(tomllib.loads(f"{sound}[spread]\n{wrong}\n")), wrong
