"""Densities that are given beside the file, part by part: the ball that is poured today."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from pydantic import TypeAdapter, ValidationError

from optimizer.ball.sought import Pour
from optimizer.scenario.recipes import reach
from optimizer.scenario.source.content import Content, part_names
from shared.errors import Problem
from shared.models import PourDensity, Reading, suggestion


def wrong_densities(
    content: Content, densities: Mapping[str, float], reading: Reading
) -> Iterator[Problem]:
    """Yield what is wrong with densities from the command line."""
    names = part_names(content)
    for name, density in densities.items():
        if name not in names:
            yield Problem(
                f'--density {name}: there is no part "{name}"', instead=suggestion(name, names)
            )
            continue
        try:
            _density(density, reading)
        except ValidationError:
            what = f"--density {name}: is no density that can be poured"
            yield Problem(what, str(density), "is it in the unit that [units] says?")


def fixed(
    pours: Sequence[Pour], densities: Mapping[str, float], reading: Reading
) -> tuple[tuple[Pour, ...], list[str]]:
    """Return the pours with these densities, and a warning for each that its recipe can't reach.

    Such a pour has no recipe: it was mixed of something else.
    """
    found, warnings = list[Pour](), list[str]()
    for pour in pours:
        if pour.part not in densities:
            found.append(pour)
            continue
        density, recipe = _density(densities[pour.part], reading), pour.recipe
        if recipe is not None:
            low, high = recipe.ends
            if not low.density <= density <= high.density:
                told = reach(low, high, reading.density)
                given = f"{densities[pour.part]:g}"
                warnings.append(
                    f"--density {pour.part}: is beyond what its recipe reaches ({given}); {told}"
                )
                recipe = None
        found.append(replace(pour, low=density, high=density, recipe=recipe, stops=None))
    return tuple(found), warnings


def _density(value: float, reading: Reading) -> float:
    """Return a density in g/cm³. Raises ValidationError."""
    return TypeAdapter(PourDensity).validate_python(value, strict=True, context=reading)
