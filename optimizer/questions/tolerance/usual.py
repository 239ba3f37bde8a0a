"""What isn't counted, as it would vary if it were as usual."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence

from geometry.nesting import outermost
from optimizer.scatter.inputs import RADIAN, Input, Kind, alone, moulds
from optimizer.scenario import Scenario
from optimizer.scenario.dimensions import part_lengths
from optimizer.scenario.text.spread_text import SpreadText, declared

USUAL = {
    "diameter": 0.0127,
    "position": 0.0508,
    "tilt": 0.5 * RADIAN,
    "centre": 0.0254,
    "dimension": 0.0254,
    "scale": 5.0,
}
"""±, cm, rad and g: what is usual where a shop says nothing (common practice, no source)."""


def usual_inputs(scenario: Scenario, known: Sequence[Input]) -> dict[str, list[Input]]:
    """Return what isn't counted, by name, as it would vary if it were as usual.

    Position and tilt of all parts but the ball go together: a shop that knows none knows no other.
    """
    text = scenario.text.spread or SpreadText()
    have = {(input_.kind, input_.of, input_.axis) for input_ in known}
    ball = outermost(scenario.classes[0].parts).name
    parts = [pour.part for pour in scenario.pours if pour.part != ball]
    laws = {kind: declared(half, text.declared) for kind, half in USUAL.items()}
    usual = dict[str, list[Input]]()
    kinds: tuple[tuple[Kind, int, Sequence[str | None]], ...] = (
        ("diameter", 0, [None]),
        ("centre", 3, [None]),
        ("position", 3, parts),
        ("tilt", 2, parts),
        ("dimension", 0, sorted(part_lengths(tomllib.loads(scenario.source)))),
        ("scale", 0, [None]),
    )
    for kind, axes, whose in kinds:
        inputs = [
            Input(kind, laws[kind], _groups(scenario, kind, of), of, axis)
            for of in whose
            for axis in (range(axes) if axes else [None])
            if (kind, of, axis) not in have
        ]
        if inputs:
            usual[kind] = inputs
    return usual


def without_density(scenario: Scenario, known: Sequence[Input]) -> list[str]:
    """Return the parts whose density is held fixed: neither stated nor declared."""
    have = {input_.of for input_ in known if input_.kind == "density"}
    return [pour.part for pour in scenario.pours if pour.part not in have]


def _groups(scenario: Scenario, kind: Kind, of: str | None) -> tuple[tuple[str, ...], ...]:
    """Return the weights that share a deviation: those of one mould; else each has its own."""
    if of is None:
        return alone(scenario.labels)
    return moulds(scenario, of) if kind == "dimension" else alone(scenario.standing(of))
