"""The text of each error: where, what, the value as written, and what would be right.

Every case spoils the sound scenario of conftest.py in one place; lines and columns are counted in
it by hand. Amounts by which parts stick out are worked out beside their case.
"""

from __future__ import annotations

import copy
import errno
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from oracles.toml_text import document

from geometry.walls.thinnest import Wall
from optimizer.scenario import Scenario, read_scenario, scenario
from optimizer.scenario.checks import fit
from optimizer.scenario.source.positions import paths, value_at
from shared.errors import InputError

Read = Callable[..., Scenario]

CORE = 'shape    = { kind = "spheroid", diameter = "wide", height = 6.00 }'
BALL = '{ kind = "sphere", diameter = 8.500 }'
UNIT = "is it in the unit given in [units]?"

FIELDS = {
    "misspelt key": (
        "height = 6.00",
        "hieght = 6.00",
        't.toml:38:52: part "core" hieght: is not a key here (6.0); did you mean "height"?',
    ),
    "unknown key": (
        'revision = "A"',
        'revision = "A"\ncolour = "red"',
        (
            't.toml:3:1: colour is not a key here ("red"); known: "name", "revision", "units", '
            '"target", "weights", "ingredients", "materials", "parts", "limits", "dimensions", '
            '"goal", "foundry", "spread", "gauges", "expected", "balance_arm", "cases", "what_if"'
        ),
    ),
    "misspelt table": (
        "[units]",
        "[unit]",
        't.toml:4:1: unit is not a key here; did you mean "units"?',
    ),
    "missing dimension of a shape": (
        ", height = 6.00",
        "",
        't.toml:38:1: part "core" height: is missing',
    ),
    "missing unit": (
        'rg      = "in"\n',
        "",
        't.toml:4:1: units rg: is missing; write "in" or "mm"',
    ),
    "wrong unit": (
        'weight  = "lb"',
        'weight  = "lbs"',
        't.toml:6:1: units weight: is not one of the choices ("lbs"); write "lb" or "kg"',
    ),
    "text for a number": (
        "diameter = 8.500",
        'diameter = "8.500"',
        (
            't.toml:32:31: part "cover" diameter: is text, not a number ("8.500"); '
            "leave out the quotes"
        ),
    ),
    "text for a weight": (
        "16 = 15.90",
        '16 = "heavy"',
        't.toml:16:1: weight "16" is not a number ("heavy")',
    ),
    "unknown dimension": (
        '"wide"',
        '"wied"',
        (
            't.toml:38:33: part "core" diameter: is not a number and not a name in [dimensions] '
            '("wied"); did you mean "wide"?'
        ),
    ),
    "not a number": (
        "diameter = 8.500",
        "diameter = nan",
        't.toml:32:31: part "cover" diameter: is not a finite number (nan)',
    ),
    "infinite": (
        "16 = 15.90",
        "16 = inf",
        't.toml:16:1: weight "16" is not a finite number (inf)',
    ),
    "an integer beyond all floats": (
        "16 = 15.90",
        "16 = 1" + 400 * "0",
        't.toml:16:1: weight "16" is not a finite number (a number of more than 30 digits)',
    ),
    "true for a number": (
        "16 = 15.90",
        "16 = true",
        't.toml:16:1: weight "16" is not a number (true)',
    ),
    "zero": (
        "diameter = 8.500",
        "diameter = 0",
        't.toml:32:31: part "cover" diameter: must be more than 0 (0)',
    ),
    "negative": (
        "height = 6.00",
        "height = -6.00",
        't.toml:38:52: part "core" height: must be more than 0 (-6.0)',
    ),
    "negative limit": (
        "wall       = { min = 0.10",
        "wall       = { min = -0.10",
        "t.toml:57:16: limits wall min: must not be negative (-0.1)",
    ),
    "a length in the wrong unit": (
        "diameter = 8.500",
        "diameter = 216.0",
        f't.toml:32:31: part "cover" diameter: is too large (216.0); {UNIT}',
    ),
    "a ball in the wrong unit, below the limit of a length": (
        "diameter = 8.500",
        "diameter = 21.6",
        f't.toml:32:31: part "cover" diameter: is not a ball\'s diameter (21.6); {UNIT}',
    ),
    "a density in the wrong unit": (
        "density   = [1.12, 1.22]",
        "density   = [1120, 1220]",
        (
            f't.toml:24:14: material "shell" density [1]: is too large (1120); {UNIT}\n'
            f't.toml:24:20: material "shell" density [2]: is too large (1220); {UNIT}'
        ),
    ),
    "an RG in the wrong unit": (
        "rg           = 2.550",
        "rg           = 64.8",
        f"t.toml:11:1: target rg: is too large (64.8); {UNIT}",
    ),
    "a bound that has no unit": (
        'at       = [0, 0, "lift"]',
        "rotate   = [0, 0, 450]",
        't.toml:39:19: part "core" rotate z: is too large (450); at most 360',
    ),
    "too few coordinates": (
        'at       = [0, 0, "lift"]',
        "at       = [0, 0]",
        (
            't.toml:39:1: part "core" at: has too few entries ([0, 0]); [x, y, z] of the shape\'s '
            "origin from the ball's centre, z toward the pin"
        ),
    ),
    "a density of three": (
        "density   = [1.12, 1.22]",
        "density   = [1.12, 1.15, 1.22]",
        (
            't.toml:24:1: material "shell" density: has too many entries ([1.12, 1.15, 1.22]); '
            "[lowest, highest] that can be poured; a single number fixes it"
        ),
    ),
    "a number for a table": (
        CORE,
        "shape    = 6.00",
        't.toml:38:1: part "core" shape: is not a table (6.0); write { key = value, … }',
    ),
    "a number for a name": (
        'material = "shell"',
        "material = 3",
        't.toml:33:1: part "cover" material: is not text (3); write it in quotes',
    ),
    "misspelt kind, told once": (
        '"spheroid"',
        '"sphereoid"',
        (
            't.toml:38:14: part "core" kind: is not a kind of shape ("sphereoid"); '
            'did you mean "spheroid"?'
        ),
    ),
    "no kind, told once": (
        'kind = "capsule", ',
        "",
        (
            't.toml:45:1: part "heart" kind: is missing; known: "sphere", "spheroid", "ellipsoid", '
            '"cylinder", "cone", "capsule", "dome", "ring", "box", "revolved", "extruded", "mesh"'
        ),
    ),
    "a shape that can't be": (
        "diameter = 1.00, height = 4.00",
        "diameter = 5.00, height = 4.00",
        (
            't.toml:45:1: part "heart" shape: capsule is lower than it is wide (4); its height is '
            "overall, the round ends included: make it 5 or more"
        ),
    ),
    "one [parts] for many": (
        '[[parts]]\nname     = "cover"',
        '[parts]\nname     = "cover"',
        "t.toml:35:1: parts is given twice; keep one of them",
    ),
    "empty name": ('name     = "Test"', 'name = ""', 't.toml:1:1: name is empty ("")'),
    "misspelt choice": (
        "[limits]",
        '[expected]\nstatus = "possible"\n[limits]',
        (
            't.toml:55:1: expected status: is not one of the choices ("possible"); '
            'write "feasible", "within_tolerance" or "infeasible"'
        ),
    ),
    "a target's missing end": (
        "rg           = 2.550",
        "rg           = { min = 2.5 }",
        "t.toml:11:1: target rg max: is missing",
    ),
}

REFERENCES = {
    "reversed density": (
        "[1.12, 1.22]",
        "[1.22, 1.12]",
        't.toml:24:1: material "shell" density: range is reversed ([1.22, 1.12]); lowest first',
    ),
    "reversed limit": (
        "min = 1.0, max = 4.0",
        "min = 4.0, max = 1.0",
        "t.toml:56:1: limits top_weight: min 4.0 is above max 1.0; swap them",
    ),
    "reversed target": (
        "rg           = 2.550",
        "rg           = { min = 2.6, max = 2.5 }",
        "t.toml:11:1: target rg: min 2.6 is above max 2.5; swap them",
    ),
    "a limit without ends": (
        "min = 1.0, max = 4.0, ",
        "",
        "t.toml:56:1: limits top_weight: limits nothing; give it a min, a max or both",
    ),
    "an intermediate differential without tolerance": (
        "differential = 0.042",
        "differential = 0.042\nintermediate_differential = 0.01",
        (
            "t.toml:14:1: target tolerance intermediate_differential: is missing; "
            "the target asks for intermediate_differential"
        ),
    ),
    "an intermediate differential above the whole": (
        "differential = 0.042",
        "differential = 0.042\nintermediate_differential = 0.05",
        (
            "t.toml:13:1: target intermediate_differential: is above the differential, 0.042 "
            "(0.05); it is high − intermediate, a part of high − low\n"
            "t.toml:14:1: target tolerance intermediate_differential: is missing; "
            "the target asks for intermediate_differential"
        ),
    ),
    "a CG offset without tolerance": (
        "differential = 0.042",
        "differential = 0.042\ncg_offset = 0.045",
        ("t.toml:14:1: target tolerance cg_offset: is missing; the target asks for cg_offset"),
    ),
    "a CG offset in the wrong direction": (
        "tolerance    = {",
        "cg_offset = -0.045\ntolerance = { cg_offset = 0.002,",
        "t.toml:13:1: target cg_offset: must not be negative (-0.045)",
    ),
    "a CG offset upside down": (
        "tolerance    = {",
        "cg_offset = { min = 0.06, max = 0.04 }\ntolerance = { cg_offset = 0.002,",
        "t.toml:13:1: target cg_offset: min 0.06 is above max 0.04; swap them",
    ),
    "a CG offset in words": (
        "tolerance    = {",
        'cg_offset = "0.045"\ntolerance = { cg_offset = 0.002,',
        't.toml:13:1: target cg_offset: is text, not a number ("0.045"); leave out the quotes',
    ),
    "a CG offset outside the ball": (
        "tolerance    = {",
        "cg_offset = 5\ntolerance = { cg_offset = 0.002,",
        f"t.toml:13:1: target cg_offset: can't be the CG offset of a ball of this size (5); {UNIT}",
    ),
    "a dimension beyond all floats": (
        "wide = 4.00",
        "wide = 1" + 400 * "0",
        't.toml:20:1: dimension "wide" is not a finite number (a number of more than 30 digits)',
    ),
    "two wall exceptions for one pair": (
        "min = 0.05 }]",
        'min = 0.05 }, { between = ["belt", "core"], min = 0.06 }]',
        (
            't.toml:57:84: limits wall except [2] between: is listed twice (["belt", "core"]); '
            "keep one"
        ),
    ),
    "a density step without an end": (
        "[limits]",
        "[limits]\ndensity_step = { tolerance = 0.03 }",
        (
            "t.toml:55:1: limits density_step: limits nothing; "
            "give it a max, or pairs under between, or both"
        ),
    ),
    "mistakes in named density steps": (
        "[limits]",
        (
            "[limits]\ndensity_step = { max = 0.2, between = ["
            '{ denser = "core", than = "core", min = 0.1 }, '
            '{ denser = "cor", than = "belt", min = 0.1 }, '
            '{ denser = "core", than = "cover", min = 0.3 }, '
            '{ denser = "cover", than = "core", min = 0.1 }] }'
        ),
        (
            't.toml:55:59: limits density_step between [1] than: is the same part ("core"); '
            "name another\n"
            't.toml:55:89: limits density_step between [2] denser: is not a part ("cor"); '
            'did you mean "core"?\n'
            "t.toml:55:168: limits density_step between [3] min: is above the max of parts that "
            "touch, 0.2 (0.3); a smaller one, or a larger max\n"
            "t.toml:55:181: limits density_step between [4]: is listed twice; keep one"
        ),
    ),
    "an empty line-up": (
        (
            "16 = 15.90\n15 = { target = 15.12, tolerance = 0.05 }\n\n"
            "[dimensions]\nwide = 4.00\nlift = { each = { 16 = 0.30, 15 = 0.20 } }"
        ),
        "\n[dimensions]\nwide = 4.00\nlift = 0.3",
        "t.toml:15:1: weights is empty",
    ),
    "a label with a dot": (
        "16 = 15.90",
        "16 = 15.90\n14.5 = 14.6",
        (
            't.toml:17:1: weight "14" is read as a table, since its label has a dot; '
            'put the label in quotes: "14.5" = …\n'
            't.toml:22:10: dimension "lift" each: has no value for weight "14"; add one'
        ),
    ),
    "a label with a dot under `each`": (
        "each = { 16 = 0.30, 15 = 0.20 }",
        "each = { 16 = 0.30, 15.5 = 0.20 }",
        (
            't.toml:21:30: dimension "lift" each 15: is read as a table, since its label has a '
            'dot; put the label in quotes: "15.5" = …'
        ),
    ),
    "a label with a dot beside its own whole": (
        "16 = 15.90",
        "15.5 = 15.60\n16 = 15.90",
        (
            "t.toml:18:1: 15.5 is read as a table, since it has a dot; "
            'put the label in quotes: "15.5" = …'
        ),
    ),
    "a duplicate label": (
        "16 = 15.90",
        "16 = 15.90\n16 = 15.95",
        "t.toml:17:1: 16 is given twice; keep one of them",
    ),
    "a duplicate part": (
        'name     = "heart"',
        'name     = "belt"',
        't.toml:48:1: part "belt" has the name of an earlier part; give each part its own',
    ),
    "an unknown host": (
        'inside   = "core"',
        'inside   = "cote"',
        't.toml:44:1: part "heart" inside: names no part ("cote"); did you mean "core"?',
    ),
    "a part inside itself": (
        'inside   = "core"',
        'inside   = "heart"',
        (
            't.toml:44:1: part "heart" inside: is inside itself: heart in heart; '
            'only the ball itself has no "inside"'
        ),
    ),
    "parts in a circle": (
        'inside   = "cover"',
        'inside   = "heart"',
        (
            't.toml:37:1: part "core" inside: is inside itself: core in heart in core; '
            'only the ball itself has no "inside"\n'
            "t.toml:57:40: limits wall except [1] between: have no wall between them "
            '(["core", "belt"]); name a part and its host, or two parts in one host'
        ),
    ),
    "two outermost parts": (
        'name     = "heart"\ninside   = "core"',
        'name     = "heart"',
        (
            't.toml:42:1: part "heart" has no "inside", and neither has "cover"; '
            'only the ball itself has no "inside": say which part this lies in'
        ),
    ),
    "no outermost part": (
        'name     = "cover"',
        'name     = "cover"\ninside = "ball"',
        (
            't.toml:32:1: part "cover" inside: names no part ("ball"); '
            'only the ball itself has no "inside"; leave it out there'
        ),
    ),
    "an unknown material": (
        'material = "shell"',
        'material = "shall"',
        (
            't.toml:33:1: part "cover" material: is not in [materials] ("shall"); '
            'did you mean "shell"?'
        ),
    ),
    "`each` that misses a weight": (
        "each = { 16 = 0.30, 15 = 0.20 }",
        "each = { 16 = 0.30 }",
        't.toml:21:10: dimension "lift" each: has no value for weight "15"; add one',
    ),
    "`each` that names an unknown weight": (
        "each = { 16 = 0.30, 15 = 0.20 }",
        "each = { 16 = 0.30, 15 = 0.20, 61 = 0.1 }",
        't.toml:21:41: dimension "lift" each 61: is not a weight; known: "16", "15"',
    ),
    "`each` in a limit, which holds for the line": (
        "wall       = { min = 0.10",
        'wall       = { min = "lift"',
        (
            "t.toml:57:16: limits wall min: differs between weights, but this applies to all "
            'of them ("lift"); give a number'
        ),
    ),
    "a free dimension with nowhere to go": (
        "wide = 4.00",
        "wide = { min = 3.0, max = 3.0 }",
        't.toml:20:1: dimension "wide" has the same min and max, 3.0; give just the number',
    ),
    "a free dimension the wrong way round": (
        "wide = 4.00",
        "wide = { min = 4.0, max = 3.0 }",
        't.toml:20:1: dimension "wide" min 4.0 is above max 3.0; swap them',
    ),
    "a start outside its range": (
        "wide = 4.00",
        "wide = { min = 3.0, max = 4.0, start = 4.5 }",
        (
            't.toml:20:32: dimension "wide" start: is outside the range (4.5); '
            "start between 3.0 and 4.0"
        ),
    ),
    "a start of no shape": (
        "wide = 4.00",
        "wide = { min = -1.0, max = 1.0 }",
        't.toml:38:33: part "core" diameter: must be more than 0 ("wide")',
    ),
    "moulds on the rack, one twice": (
        "wide = 4.00",
        "wide = { one_of = [3.0, 4.0, 3.0] }",
        't.toml:20:30: dimension "wide" one_of [3]: is listed twice (3.0); keep one',
    ),
    "an empty rack": (
        "wide = 4.00",
        "wide = { one_of = [] }",
        't.toml:20:10: dimension "wide" one_of: is empty ([])',
    ),
    "a free dimension, alike in an unknown weight": (
        "wide = 4.00",
        'wide = { min = 3.0, max = 4.0, same = [["16", "51"]] }',
        ('t.toml:20:47: dimension "wide" same [1] [2]: is not a weight ("51"); known: "16", "15"'),
    ),
    "a wall exception for an unknown part": (
        '["core", "belt"]',
        '["core", "bell"]',
        (
            't.toml:57:59: limits wall except [1] between [2]: is not a part ("bell"); '
            'did you mean "belt"?'
        ),
    ),
    "a wall exception for no pair": (
        '["core", "belt"]',
        '["heart", "belt"]',
        (
            "t.toml:57:40: limits wall except [1] between: have no wall between them "
            '(["heart", "belt"]); name a part and its host, or two parts in one host'
        ),
    ),
    "a group with an unknown weight": (
        'material = "shell"',
        'material = "shell"\nsame_density = [["16", "14"]]',
        (
            't.toml:34:24: part "cover" same_density [1] [2]: is not a weight ("14"); '
            'known: "16", "15"'
        ),
    ),
    "a group with a weight twice": (
        'material = "shell"',
        'material = "shell"\nsame_density = [["16", "15"], ["15"]]',
        (
            't.toml:34:32: part "cover" same_density [2] [1]: is listed twice ("15"); '
            "a weight is in one group at most"
        ),
    ),
    "a group without quotes": (
        'material = "shell"',
        'material = "shell"\nsame_density = [[16, "15"]]',
        't.toml:34:18: part "cover" same_density [1] [1]: is not text (16); write it in quotes',
    ),
}

MISFITS = {
    "a batch that may weigh nothing": (
        "tolerance = 0.010",
        "tolerance = 1.12",
        (
            't.toml:25:1: material "shell" tolerance: is not less than the lowest density, '
            f"1.12 g/cm3 (1.12); {UNIT}"
        ),
    ),
    "a ball that may weigh nothing": (
        "weight = 0.06,",
        "weight = 15.12,",
        (
            "t.toml:13:18: target tolerance weight: "
            f"is not less than the lightest ball, 15.12 lb (15.12); {UNIT}"
        ),
    ),
    "a class that may weigh nothing": (
        "tolerance = 0.05 }",
        "tolerance = 15.2 }",
        (
            't.toml:17:24: weight "15" tolerance: '
            f"is not less than the weight, 15.12 lb (15.2); {UNIT}"
        ),
    ),
    "a differential that may exceed the RG": (
        "differential = 0.001 }",
        "differential = 2.55 }",
        (
            "t.toml:13:45: target tolerance differential: "
            f"is not less than the low RG, 2.55 in (2.55); {UNIT}"
        ),
    ),
    "a tolerance that vanishes beside the RG": (
        "rg = 0.003,",
        "rg = 0.00002,",
        (
            "t.toml:13:33: target tolerance rg: "
            f"is less than a hundred-thousandth of the low RG, 2.55 in (2e-05); {UNIT}"
        ),
    ),
    "a tolerance that vanishes beside an ounce": (
        "tolerance = 0.25 }",
        "tolerance = 0.000009 }",
        (
            "t.toml:56:38: limits top_weight tolerance: "
            f"is less than a hundred-thousandth of an ounce, 1 oz (9e-06); {UNIT}"
        ),
    ),
    "a solid of no volume": (
        "wide = 4.00",
        "wide = 5e-324",
        't.toml:38:1: part "core" shape: has next to no volume; make it larger, or leave it out',
    ),
    # top of the core at 0.30 (16) and 1.40 (15) + 6.00/2, the ball's at 4.25; then the core's
    # bottom is at 1.40 − 6.00/2, the heart's at −4.00/2
    "a part that sticks out in one weight": (
        "15 = 0.20 }",
        "15 = 1.40 }",
        (
            't.toml:35:1: part "core" sticks out of "cover" by 0.15 in at the top, in weight "15"; '
            "make it shorter, or move it down\n"
            't.toml:42:1: part "heart" sticks out of "core" by 0.4 in at the bottom, in weight '
            '"15"; make it shorter, or move it up'
        ),
    ),
    # bottom of the heart at −3.0 − 2.0; of the core at 0.30 − 3.00 and 0.20 − 3.00: 2.3 and 2.2
    "a part that sticks out by another amount in each weight": (
        'name     = "heart"',
        'name     = "heart"\nat = [0, 0, -3.0]',
        (
            't.toml:42:1: part "heart" sticks out of "core" by 2.3 in at the bottom, in weight '
            '"16"; make it shorter, or move it up\n'
            't.toml:42:1: part "heart" sticks out of "core" by 2.2 in at the bottom, in weight '
            '"15"; make it shorter, or move it up'
        ),
    ),
    # the ring's outer edge lies at 8.00/2 + 0.80/2 = 4.40, the ball's at 4.25
    "a ring that sticks out at the side": (
        "diameter = 6.00, thickness",
        "diameter = 8.00, thickness",
        't.toml:48:1: part "belt" sticks out of "cover" by 0.15 in at the side; make it narrower',
    ),
    # rim of the flat top, 2.00 from the axis and 0.30 (0.20) + 7.30/2 up: hypot(2.00, 3.95) − 4.25
    "a rim that sticks out": (
        'kind = "spheroid", diameter = "wide", height = 6.00',
        'kind = "cylinder", diameter = "wide", height = 7.30',
        (
            't.toml:35:1: part "core" sticks out of "cover" by 0.177 in at the top, in weight '
            '"16"; make it shorter, or move it down\n'
            't.toml:35:1: part "core" sticks out of "cover" by 0.0885 in at the top, in weight '
            '"15"; make it shorter, or move it down'
        ),
    ),
    "no sphere around": (
        BALL,
        '{ kind = "cylinder", diameter = 8.500, height = 8.500 }',
        't.toml:32:1: part "cover" shape: is the outermost part, the ball: it must be a sphere',
    ),
    "a ball off its own centre": (
        'material = "shell"',
        'material = "shell"\nat = [0, 0, 0.1]',
        (
            't.toml:30:1: part "cover" is the outermost part, the ball: it must sit at the centre, '
            "unstretched; leave out at and stretch"
        ),
    ),
}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    (FIELDS | REFERENCES | MISFITS).values(),
    ids=(FIELDS | REFERENCES | MISFITS).keys(),
)
def test_one_mistake_gives_one_clear_error(read: Read, old: str, new: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        read(old, new)
    assert str(error.value) == told
    assert error.value.exit_code == 3


@pytest.mark.parametrize("open_", ["{ min = 3.0, max = 4.0 }", "{ one_of = [3.0, 4.0] }"])
def test_a_limit_is_not_the_solvers_to_pick(sound: str, open_: str) -> None:
    text = sound.replace("wide = 4.00", f"wide = {open_}")
    text = text.replace("wall       = { min = 0.10", 'wall       = { min = "wide"')
    with pytest.raises(InputError) as told:
        scenario(text, file="t.toml", target_required=True)
    assert str(told.value) == (
        "t.toml:57:16: limits wall min: is free, but the solver picks no limits "
        '("wide"); give a number'
    )


def test_a_command_about_one_mould_wants_every_dimension(sound: str, tmp_path: Path) -> None:
    text = sound.replace("wide = 4.00", "wide = { min = 3.0, max = 4.0 }")
    (tmp_path / "t.toml").write_text(text, encoding="utf-8")
    read_scenario(tmp_path / "t.toml", target_required=True)
    with pytest.raises(InputError) as told:
        read_scenario(tmp_path / "t.toml", target_required=True, mould_required=True)
    (problem,) = told.value.problems
    assert (problem.line, problem.column) == (20, 1)
    assert problem.what == 'dimension "wide" is free, and this command asks about one mould'
    assert problem.instead == "give it one value; samespin solve finds the best"


def test_overlapping_neighbours_are_told_with_the_amount(read: Read) -> None:
    """A bead whose lowest point is at 2.8 − 0.5 in, on a core whose flat top is at 5.00/2."""
    bead = 'shape = { kind = "sphere", diameter = 1.00 }\nat = [0, 0, 2.8]\nmaterial = "light"'
    with pytest.raises(InputError) as error:
        read(
            f'{CORE}\nat       = [0, 0, "lift"]\nmaterial = "light"',
            'shape = { kind = "cylinder", diameter = "wide", height = 5.00 }\nmaterial = "light"\n'
            f'[[parts]]\nname = "bead"\ninside = "cover"\n{bead}',
        )
    assert str(error.value) == (
        't.toml:35:1: part "core" overlaps "bead" by 0.2 in; '
        "move them apart, make one smaller, or put one inside the other"
    )


def test_a_concentric_sphere_that_is_too_large_sticks_out_all_round(read: Read) -> None:
    """1.00 in of radius more than the ball has; that the belt is in its way too comes after."""
    with pytest.raises(InputError) as error:
        read(f'{CORE}\nat       = [0, 0, "lift"]', 'shape = { kind = "sphere", diameter = 10.50 }')
    assert str(error.value.problems[0]) == (
        't.toml:35:1: part "core" sticks out of "cover" by 1 in all round; make it smaller'
    )


def test_amounts_are_in_the_scenarios_own_unit(sound: str) -> None:
    """In mm the same numbers are a ball of 8.5 mm; times 25.4 the ring sticks out 3.81 mm."""
    metric = sound.replace('length  = "in"', 'length  = "mm"').replace(
        "diameter = 6.00", "diameter = 8.00"
    )
    for number in ("8.500", "8.00, ", "0.80", "6.00", "4.00", "1.00", "0.30,", "0.20"):
        value = number.rstrip(", ")
        metric = metric.replace(f" {number}", f" {float(value) * 25.4}{number[len(value) :]}")
    with pytest.raises(InputError, match=r"by 3\.81 mm at the side"):
        scenario(metric, file="t.toml", target_required=True)


def test_touching_walls_are_allowed(read: Read) -> None:
    """Inside diameter equal to the outside: the wall is 0, and a limit's business."""
    read(f'{CORE}\nat       = [0, 0, "lift"]', 'shape = { kind = "sphere", diameter = 5.20 }')
    read("diameter = 6.00, thickness = 0.80", "diameter = 7.70, thickness = 0.80")


def test_all_mistakes_are_told_at_once_in_file_order(read: Read) -> None:
    """Three kinds of check find one each: models, references, the command line (no place)."""
    with pytest.raises(InputError) as error:
        read(
            'material = "light"\n\n[[parts]]\nname     = "heart"\ninside   = "core"',
            'material = "lihgt"\n\n[[parts]]\nname     = 3\ninside   = "core"',
            densities={"crust": 1.2},
        )
    problems = [(p.line, p.what) for p in error.value.problems]
    assert problems == [
        (40, 'part "core" material: is not in [materials]'),
        (43, "part number 3 name: is not text"),
        (None, '--density crust: there is no part "crust"'),
    ]


@pytest.mark.parametrize(
    ("densities", "told"),
    [
        ({"covr": 1.2}, '--density covr: there is no part "covr"; did you mean "cover"?'),
        ({"cover": 1200}, f"--density cover: is not a density that can be poured (1200); {UNIT}"),
        ({"cover": -1.0}, f"--density cover: is not a density that can be poured (-1.0); {UNIT}"),
        (
            {"cover": float("nan")},
            f"--density cover: is not a density that can be poured (nan); {UNIT}",
        ),
    ],
)
def test_a_wrong_density_on_the_command_line_is_told(
    read: Read, densities: dict[str, float], told: str
) -> None:
    with pytest.raises(InputError) as error:
        read(densities=densities)
    assert str(error.value) == told


def test_a_target_may_be_missing_only_where_a_ball_is_measured(sound: str) -> None:
    start, end = sound.index("[target]"), sound.index("[weights]")
    bare = sound[:start] + sound[end:]
    assert scenario(bare, file="t.toml", target_required=False).target == {}
    with pytest.raises(InputError, match=r"target is missing; add \[target\]"):
        scenario(bare, file="t.toml", target_required=True)


NOT_TOML = {
    "name": ("name\n", "t.toml:1:5: is not TOML: a key is not followed by ="),
    "no value": (
        "name =\n",
        "t.toml:1:7: is not TOML: the value is not valid; text goes in quotes",
    ),
    "no quotes": (
        "name = Juniper\n",
        "t.toml:1:8: is not TOML: the value is not valid; text goes in quotes",
    ),
    "open text": (
        'name = "Juniper\n',
        "t.toml:1:16: is not TOML: a text is not closed on its line; close it with its quote",
    ),
    "open list": (
        "a = [1,\n2",
        "t.toml:2:2: is not TOML: a list is not closed; close it with ]",
    ),
    "two on a line": (
        "a = 1 b = 2\n",
        "t.toml:1:7: is not TOML: something follows the value; write one key = value a line",
    ),
    "table twice": ("[a]\nb = 1\n[a]\n", "t.toml:3:1: a is given twice; keep one of them"),
    "heading for one after many": (
        "[[a]]\nb = 1\n[a]\nb = 1\n",
        "t.toml:3:1: a is given twice; keep one of them",
    ),
    "a list twice": ("a = [\n1]\na = [\n2]\n", "t.toml:3:1: a is given twice; keep one of them"),
    "a key of a table twice": (
        "[x]\na = { b = 1, b = 2 }\n",
        "t.toml:2:14: b is given twice; keep one of them",
    ),
    "a key at the end of the file": (
        "a.b = 1\na.b = 2",
        "t.toml:2:1: b is given twice; keep one of them",
    ),
    "a label with a dot in a table, after its whole": (
        "lift = { each = { 15 = 0.2, 15.5 = 0.3 } }\n",
        (
            "t.toml:1:29: 15.5 is read as a table, since it has a dot; "
            'put the label in quotes: "15.5" = …'
        ),
    ),
    "a label with a dot in a table, before its whole": (
        "lift = { each = { 15.5 = 0.2, 15 = 0.3 } }\n",
        (
            "t.toml:1:31: 15.5 is read as a table, since it has a dot; "
            'put the label in quotes: "15.5" = …'
        ),
    ),
    "too deep": ("a = " + 5000 * "[", "t.toml: is nested too deeply"),
    "too deep in keys": (
        "a." * 3000 + "b = 1979-05-27",
        "t.toml: is nested too deeply",
    ),
    "too long": ("a = 1" + 5000 * "0", "t.toml: has a number with too many digits"),
}


@pytest.mark.parametrize(("source", "told"), NOT_TOML.values(), ids=NOT_TOML.keys())
def test_what_is_not_toml_is_told_in_plain_words(source: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        scenario(source, file="t.toml", target_required=True)
    assert str(error.value) == told


def test_a_missing_file_a_folder_and_other_bytes_are_told(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes("name = 'Genévrier'".encode("latin-1"))
    expected = {
        tmp_path / "none.toml": "does not exist; check its name",
        tmp_path: "is a folder; name a file in it",
        latin: "is not UTF-8 text, at byte 12; save it as UTF-8",
    }
    for path, told in expected.items():
        with pytest.raises(InputError) as error:
            read_scenario(path, target_required=True)
        assert str(error.value) == f"{path}: {told}"


def test_an_unreadable_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The refusal is played: the superuser may read everything."""
    path = tmp_path / "locked.toml"
    path.touch()

    def refused(_path: Path, _mode: str) -> bytes:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "open", refused)
    with pytest.raises(InputError, match="can't be read: Permission denied"):
        read_scenario(path, target_required=True)


def test_a_name_that_is_no_folder_on_the_way_is_told(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_text("")
    with pytest.raises(InputError, match=r"x\.toml: does not exist"):
        read_scenario(path / "x.toml", target_required=True)


def test_an_empty_file_names_every_table_that_is_missing() -> None:
    with pytest.raises(InputError) as error:
        scenario("", file="t.toml", target_required=True)
    missing = {problem.what.split()[0] for problem in error.value.problems}
    assert missing == {"name", "revision", "units", "target", "weights", "materials", "parts"}


@pytest.mark.parametrize("wrong", ["3", '"x"', "[]", "[3]", "true", "1979-05-27", "{ x = {} }"])
@pytest.mark.parametrize(
    "key",
    [
        "units",
        "target",
        "weights",
        "ingredients",
        "materials",
        "parts",
        "limits",
        "dimensions",
        "foundry",
        "expected",
    ],
)
def test_any_value_in_place_of_a_table_is_an_input_error(key: str, wrong: str) -> None:
    """Never a traceback: whatever stands there, the reader says what is wrong with it."""
    with pytest.raises(InputError) as error:
        scenario(f"{key} = {wrong}", file="t.toml", target_required=True)
    assert all(problem.what for problem in error.value.problems)


@pytest.mark.parametrize(
    "odd",
    [[], {}, "x", 10**400, True, [["16", []]]],
    ids=["list", "table", "text", "huge", "true", "groups"],
)
def test_an_odd_value_anywhere_is_read_or_refused_in_words(sound: str, odd: Any) -> None:
    """In place of every value in turn: no traceback, and a place for each problem found."""
    content = tomllib.loads(sound)
    for *above, key in paths(content):
        spoilt = copy.deepcopy(content)
        _, table = value_at(spoilt, tuple(above))
        table[key] = odd
        try:
            scenario(document(spoilt), file="t.toml", target_required=True)
        except InputError as error:
            unplaced = [p.what for p in error.problems if p.line is None]
            assert all("missing" in what for what in unplaced)


def test_unused_materials_and_dimensions_are_warnings(read: Read) -> None:
    spare = "[materials.spare]\ndensity = 2.0\n\n[materials.shell]"
    assert read("[materials.shell]", spare).warnings == (
        't.toml:23:1: material "spare" is not used',
    )
    assert read('diameter = "wide"', "diameter = 4.00").warnings == (
        't.toml:20:1: dimension "wide" is not used',
    )
    assert read().warnings == ()


def test_a_wide_rim_sticks_out_at_its_upper_edge(read: Read) -> None:
    """hypot(3.40, 3.00/2 + 1.20) = 4.3417 in; the ball's radius is 4.25."""
    disc = 'shape = { kind = "cylinder", diameter = 6.80, height = 3.00 }\nat = [0, 0, 1.20]'
    with pytest.raises(
        InputError, match=r'sticks out of "cover" by 0.0917 in round its upper edge'
    ):
        read(f'{CORE}\nat       = [0, 0, "lift"]', disc)


def test_a_wall_known_too_poorly_is_a_warning(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall of 0.001 in known to ± 0.002 may be none: 0.00254 cm ± 0.00508."""
    up = (0.0, 0.0, 1.0)
    wall = Wall(("core", "cover"), True, 0.00254, 0.00508, up, up, (0.0, 0.0, 1.00254))
    monkeypatch.setattr(fit, "mould_walls", lambda _parts: (wall,))
    assert read().warnings == (
        (
            't.toml:35:1: part "core" has a wall to "cover" that is known only to ± 0.002 in: '
            "they may cross"
        ),
    )
