"""The only reader of scenario files: every error is found at once and told with its place."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Final

from pydantic import ValidationError

from geometry.parts import Part
from optimizer.linear.maps import Dimension
from optimizer.linear.targets import Span, Target
from optimizer.scenario.content import Content, table
from optimizer.scenario.dimensions import Chosen, part_lengths, values
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.files import parsed, text_of
from optimizer.scenario.fit import doubts, misfits, off_scale
from optimizer.scenario.fixing import fixed, wrong_densities
from optimizer.scenario.positions import places
from optimizer.scenario.recipes import misfit_recipes, pour, recipes
from optimizer.scenario.references import references, unused
from optimizer.scenario.scenario import Rack, Scenario, WeightClass
from optimizer.scenario.text import (
    FreeDimension,
    RackDimension,
    SameDensity,
    ScenarioText,
    TargetText,
)
from optimizer.scenario.wording import Mistake, in_file_order, mistakes, problem, without_echoes
from shared.errors import InputError, Problem
from shared.models import Reading
from shared.units import DENSITIES, LENGTHS, WEIGHTS

NONE: Final[Mapping[str, float]] = MappingProxyType({})


def read_scenario(
    path: str | FilePath,
    *,
    target_required: bool,
    mould_required: bool = False,
    densities: Mapping[str, float] = NONE,
) -> Scenario:
    """Return the scenario in the file at `path`.

    `densities` fix parts' pours, in the scenario's own unit of density. Without `target_required`
    the file may do without [target]; with `mould_required` no dimension may be left open. Raises
    InputError with everything that is wrong, in the order of the file.
    """
    source = text_of(path)
    read = scenario(source, file=str(path), target_required=target_required, densities=densities)
    if mould_required and read.open:
        raise InputError(_left_open(read))
    return read


def _left_open(read: Scenario) -> Iterator[Problem]:
    """Yield each dimension that is left open, for a command that asks about one mould."""
    for name in [*(one.name for one in read.free), *(one.name for one in read.rack)]:
        place = read.places.get(("dimensions", name))
        yield Problem(
            f'dimension "{name}" is free, and this command asks about one mould',
            instead="give it one value; samespin solve finds the best",
            file=read.file,
            line=None if place is None else place.line,
            column=None if place is None else place.column,
        )


def scenario(
    source: str,
    *,
    file: str,
    target_required: bool,
    densities: Mapping[str, float] = NONE,
    chosen: Chosen = MappingProxyType({}),
    opened: Mapping[str, tuple[float, float]] = MappingProxyType({}),
) -> Scenario:
    """Return the scenario that the text `source` says, as `read_scenario` does.

    `file` names it in errors; `chosen` are values for dimensions that the text leaves open, and
    `opened` ranges for some that it does not, in the text's unit of length.
    """
    content = parsed(source, file)
    where = places(source, content)

    def told(found: Iterable[Mistake]) -> list[Problem]:
        return [problem(mistake, content, where, file) for mistake in found]

    texts, wrong = _texts(content, chosen)
    found = without_echoes([*wrong, *references(content, target_required=target_required)])
    reading = _reading(content, {})
    problems = [*told(found), *wrong_densities(content, densities, reading)]
    if problems:
        raise InputError(in_file_order(problems))

    moulds, text = _moulds(texts), next(iter(texts.values()))
    mixed = recipes(text)
    free, rack = _open(text, part_lengths(content), chosen, opened)
    misfit = _by_weight(
        {
            label: misfits(parts, text.units, at_start=bool(free or rack))
            for label, parts in moulds.items()
        }
    )
    target = _target(text.target) if text.target else None
    if not misfit:
        misfit = list(off_scale(ball_radius(next(iter(moulds.values()))), target))
    misfit += misfit_recipes(text, mixed)
    if misfit:
        raise InputError(in_file_order(told(misfit)))
    settled = {} if free or rack else moulds  # walls of a start say nothing
    doubtful = _by_weight({label: doubts(parts, text.units) for label, parts in settled.items()})
    warnings = in_file_order(told([*unused(content), *doubtful]))
    poured = [pour(part.name, part.material, text, mixed) for part in text.parts]
    pours, beyond = fixed(poured, densities, reading)
    tolerance = text.target.tolerance.weight if text.target else None
    return Scenario(
        name=text.name,
        revision=text.revision,
        file=file,
        source=source,
        text=text,
        reading=reading,
        classes=tuple(
            WeightClass(label, one.target, one.tolerance or tolerance, moulds[label])
            for label, one in text.weights.items()
        ),
        pours=pours,
        sharing={part.name: groups(part.same_density, tuple(text.weights)) for part in text.parts},
        target=target,
        about=text.target.about if text.target else "cg",
        limits=text.limits.held,
        arm=text.balance_arm or ball_radius(next(iter(moulds.values()))),
        places=where,
        free=free,
        rack=rack,
        chosen=chosen,
        warnings=(*map(str, warnings), *beyond),
    )


def _texts(content: Content, chosen: Chosen) -> tuple[dict[str, ScenarioText], list[Mistake]]:
    """Return the text for each weight label, dimensions resolved, and what is wrong with it.

    Weights with the same dimensions share one text.
    """
    labels = list(table(content, "weights")) or [""]
    known: dict[tuple[tuple[str, float], ...], ScenarioText | list[Mistake]] = {}
    found: dict[str, ScenarioText | list[Mistake]] = {}
    for label in labels:
        named = values(content, label, chosen)
        key = tuple(named.items())
        if key not in known:
            try:
                known[key] = ScenarioText.model_validate(content, context=_reading(content, named))
            except ValidationError as error:
                known[key] = list(mistakes(error, content))
        found[label] = known[key]
    texts = {label: one for label, one in found.items() if isinstance(one, ScenarioText)}
    wrong = {label: [] if isinstance(one, ScenarioText) else one for label, one in found.items()}
    return texts, _by_weight(wrong)


def _by_weight(found: Mapping[str, Iterable[Mistake]]) -> list[Mistake]:
    """Return each mistake once; with the weights' labels where not all weights have it."""
    labels: dict[Mistake, list[str]] = {}
    for label, wrong in found.items():
        for mistake in dict.fromkeys(wrong):
            labels.setdefault(mistake, []).append(label)
    return [
        mistake
        if len(having) == len(found)
        else replace(
            mistake, what=f"{mistake.what}, in weight " + ", ".join(f'"{one}"' for one in having)
        )
        for mistake, having in labels.items()
    ]


def _reading(content: Content, named: Mapping[str, float]) -> Reading:
    """Return how to read the numbers; ours for a unit that is wrong, which the models tell."""
    units = table(content, "units")

    def factor(key: str, table: Mapping[str, float]) -> float:
        unit = units.get(key)
        return table.get(unit, 1.0) if isinstance(unit, str) else 1.0

    return Reading(
        length=factor("length", LENGTHS),
        weight=factor("weight", WEIGHTS),
        density=factor("density", DENSITIES),
        rg=factor("rg", LENGTHS),
        named=named,
    )


def _moulds(texts: Mapping[str, ScenarioText]) -> dict[str, tuple[Part, ...]]:
    """Return the parts for each weight label; equal moulds are one object."""
    known: dict[tuple[Part, ...], tuple[Part, ...]] = {}
    moulds = {}
    for label, text in texts.items():
        parts = tuple(part.part for part in text.parts)
        moulds[label] = known.setdefault(parts, parts)
    return moulds


def _open(
    text: ScenarioText,
    used: Container[str],
    chosen: Chosen,
    opened: Mapping[str, tuple[float, float]],
) -> tuple[tuple[Dimension, ...], tuple[Rack, ...]]:
    """Return the dimensions that are to be picked: those free in a range, those on the rack.

    One that no part has used is left out: there is nothing to pick it by.
    """
    free, rack, labels = list[Dimension](), list[Rack](), tuple(text.weights)
    unit = LENGTHS[text.units.length]
    for name, one in text.dimensions.items():
        if name in chosen or name not in used:
            continue
        if name in opened and isinstance(one, float):
            low, high = opened[name]
            free.append(Dimension(name, low * unit, high * unit, one * unit, (labels,)))
        elif isinstance(one, FreeDimension):
            start = (one.min + one.max) / 2 if one.start is None else one.start
            ends = (one.min * unit, one.max * unit, start * unit)
            free.append(Dimension(name, *ends, groups(one.same, labels)))
        elif isinstance(one, RackDimension):
            rack.append(Rack(name, one.one_of, groups(one.same, labels)))
    return tuple(free), tuple(rack)


def groups(same: SameDensity, labels: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return the groups of weights that have something alike."""
    match same:
        case "all":
            return (labels,)
        case "none":
            return ()
        case groups:
            return groups


def _target(text: TargetText) -> Target:
    asked = text.intermediate_differential
    return Target(
        rg=Span(text.rg.min, text.rg.max),
        differential=Span(text.differential.min, text.differential.max),
        intermediate=None if asked is None else Span(asked.min, asked.max),
        rg_tolerance=text.tolerance.rg,
        differential_tolerance=text.tolerance.differential,
        intermediate_tolerance=text.tolerance.intermediate_differential,
    )
