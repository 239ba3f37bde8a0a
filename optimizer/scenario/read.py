"""The only reader of scenario files: every error is found at once and told with its place."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Final

from pydantic import ValidationError

from geometry.parts import Part
from optimizer.scenario.checks.by_weight import by_weight
from optimizer.scenario.checks.fit import doubts, misfits, off_scale, remarks
from optimizer.scenario.checks.mistakes import Mistake, in_file_order, problem, without_echoes
from optimizer.scenario.checks.references import references, unused
from optimizer.scenario.checks.wording import mistakes
from optimizer.scenario.dimensions import Chosen, having, part_lengths, values
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.fixing import fixed, wrong_densities
from optimizer.scenario.left_open import groups, left_open
from optimizer.scenario.recipes import misfit_recipes, pour, recipes
from optimizer.scenario.scenario import ClassDrawing, Scenario, Written
from optimizer.scenario.source.attachments import Files, Where
from optimizer.scenario.source.content import Content, standing, table
from optimizer.scenario.source.files import parsed, text_of
from optimizer.scenario.source.positions import places
from optimizer.scenario.text.scenario_text import ScenarioText
from shared import activity
from shared.errors import InputError, Problem
from shared.models import Reading
from shared.units import DENSITIES, LENGTHS, WEIGHTS, LengthUnit, UnitOf

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
    read = scenario(
        source,
        file=str(path),
        files=FilePath(path).parent,
        target_required=target_required,
        densities=densities,
    )
    if mould_required and read.open:
        free = 'dimension "{}" is free, and this command asks about one mould'
        instead = "give it one value; samespin solve finds the best"
        raise InputError(
            read.problem(("dimensions", name), free.format(name), instead) for name in read.to_pick
        )
    return read


@activity.within()
def scenario(
    source: str,
    *,
    file: str,
    target_required: bool,
    files: Where = MappingProxyType({}),
    densities: Mapping[str, float] = NONE,
    chosen: Chosen = MappingProxyType({}),
    opened: Mapping[str, tuple[float, float]] = MappingProxyType({}),
) -> Scenario:
    """Return the scenario that the text `source` says, as `read_scenario` does.

    `file` names it in errors, and `files` says where those are that it names. `chosen` are values
    for dimensions that the text leaves open, and `opened` ranges for some that it does not, in the
    text's unit of length.
    """
    content, attached = parsed(source, file), Files(files)
    where = places(source, content)

    def told(found: Iterable[Mistake]) -> list[Problem]:
        return [problem(mistake, content, where, file) for mistake in found]

    stands, have = standing(content), having(content)
    texts, wrong = _texts(content, chosen, have, attached)
    found = without_echoes([*wrong, *references(content, target_required=target_required)])
    reading = _reading(content, {}, attached)
    if problems := [*told(found), *wrong_densities(content, densities, reading)]:
        raise InputError(in_file_order(problems))

    text = next(iter(texts.values()))
    moulds, mixed = _moulds(texts, stands), recipes(text)
    number = {part.name: i for i, part in enumerate(text.parts)}
    free, rack = left_open(text, part_lengths(content), have, chosen, opened)
    start = bool(free or rack)

    def in_moulds(wrong: Callable[[tuple[Part, ...]], Iterable[Mistake]]) -> list[Mistake]:
        return by_weight({label: wrong(parts) for label, parts in moulds.items()}, content)

    misfit = in_moulds(lambda parts: misfits(parts, number, text.units, at_start=start))
    target = text.target.asked if text.target else None
    if not misfit:
        misfit = list(off_scale(ball_radius(next(iter(moulds.values()))), target))
    misfit += misfit_recipes(text, mixed)
    if misfit:
        raise InputError(in_file_order(told(misfit)))
    doubtful = []  # walls of a start say nothing
    if not start:
        doubtful = in_moulds(lambda parts: doubts(parts, number, text.units))
    mended = in_moulds(lambda parts: remarks(parts, number))
    warnings = in_file_order(told([*unused(content), *mended, *doubtful]))
    poured = [pour(part.name, part.material, text, mixed) for part in text.parts]
    pours, beyond = fixed(poured, densities, reading)
    tolerance = text.target.tolerance.weight if text.target else None
    return Scenario(
        name=text.name,
        revision=text.revision,
        file=file,
        source=source,
        files=attached.read,
        text=text,
        reading=reading,
        classes=tuple(
            ClassDrawing(
                label,
                weight_text.target,
                weight_text.tolerance or tolerance,
                moulds[label],
                tuple(name for name, labels in have.items() if label in labels),
            )
            for label, weight_text in text.weights.items()
        ),
        pours=pours,
        sharing={part.name: groups(part.same_density, stands[part.name]) for part in text.parts},
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


def read_again(
    written: Written,
    chosen: Chosen,
    opened: Mapping[str, tuple[float, float]] = MappingProxyType({}),
) -> Scenario:
    """Return a scenario that was read before, with its files as they were; see `scenario`."""
    return scenario(
        written.source,
        file=written.file,
        files=written.files,
        target_required=True,
        chosen=chosen,
        opened=opened,
    )


def _texts(
    content: Content, chosen: Chosen, have: Mapping[str, tuple[str, ...]], files: Files
) -> tuple[dict[str, ScenarioText], list[Mistake]]:
    """Return the text for each weight, dimensions resolved, equal ones once; and what is wrong."""
    labels = list(table(content, "weights")) or [""]
    known: dict[tuple[tuple[str, float], ...], ScenarioText | list[Mistake]] = {}
    found: dict[str, ScenarioText | list[Mistake]] = {}
    for label in labels:
        named = values(content, label, chosen, have)
        key = tuple(named.items())
        if key not in known:
            try:
                reading = _reading(content, named, files)
                known[key] = ScenarioText.model_validate(content, context=reading)
            except ValidationError as error:
                known[key] = list(mistakes(error, content))
        found[label] = known[key]
    texts = {label: one for label, one in found.items() if isinstance(one, ScenarioText)}
    wrong = {label: [] if isinstance(one, ScenarioText) else one for label, one in found.items()}
    return texts, by_weight(wrong, content)


def _reading(content: Content, named: Mapping[str, float], files: Files) -> Reading:
    """Return how to read the numbers; ours for a unit that is wrong, which the models tell."""
    units = table(content, "units")

    def factor(key: str, known: Mapping[str, UnitOf | LengthUnit]) -> float:
        name = units.get(key)
        unit = known.get(name) if isinstance(name, str) else None
        return 1.0 if unit is None else unit.size

    return Reading(
        length=factor("length", LENGTHS),
        weight=factor("weight", WEIGHTS),
        density=factor("density", DENSITIES),
        rg=factor("rg", LENGTHS),
        named=named,
        files=files,
    )


def _moulds(
    texts: Mapping[str, ScenarioText], stands: Mapping[str, Collection[str]]
) -> dict[str, tuple[Part, ...]]:
    """Return the parts that stand in each weight, by its label; equal moulds are one object."""
    known: dict[tuple[Part, ...], tuple[Part, ...]] = {}
    moulds = {}
    for label, text in texts.items():
        parts = tuple(part.part for part in text.parts if label in stands[part.name])
        moulds[label] = known.setdefault(parts, parts)
    return moulds
