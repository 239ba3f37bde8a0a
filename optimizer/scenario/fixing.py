"""Densities given on the command line, part by part: the ball that is poured today."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from pydantic import TypeAdapter, ValidationError

from optimizer.ball.sought import Pour
from optimizer.scenario.recipes import reach
from optimizer.scenario.source.content import Content, named_parts
from shared.errors import Problem
from shared.models import PourDensity, Reading, suggestion


def wrong_densities(
    content: Content, densities: Mapping[str, float], reading: Reading
) -> Iterator[Problem]:
    """Yield mistakes in densities from the command line."""
    parts = named_parts(content)
    for name, density in densities.items():
        if name not in parts:
            what = f'--density {name}: there is no part "{name}"'
            yield Problem(what, instead=suggestion(name, parts))
            continue
        try:
            _density(density, reading)
        except ValidationError:
            what = f"--density {name}: is not a density that can be poured"
            yield Problem(what, str(density), "is it in the unit given in [units]?")


def fixed(
    pours: Sequence[Pour], densities: Mapping[str, float], reading: Reading
) -> tuple[tuple[Pour, ...], list[str]]:
    """Return the pours with these densities, and a warning for each that its recipe can't reach.

    Such a pour loses its recipe: it was mixed from something else.
    """
    poured, warnings = list[Pour](), list[str]()
    for pour in pours:
        if pour.part not in densities:
            poured.append(pour)
            continue
        density, recipe = _density(densities[pour.part], reading), pour.recipe
        if recipe and not recipe.ends[0].density <= density <= recipe.ends[1].density:
            what = f"is beyond what its recipe reaches ({densities[pour.part]:g})"
            range_ = reach(*recipe.ends, reading.density)
            warnings.append(f"--density {pour.part}: {what}; {range_}")
            recipe = None
        poured.append(replace(pour, low=density, high=density, recipe=recipe, stops=None))
    return tuple(poured), warnings


def _density(value: float, reading: Reading) -> float:
    """Return a density in g/cm³. Raises ValidationError."""
    return TypeAdapter(PourDensity).validate_python(value, strict=True, context=reading)
