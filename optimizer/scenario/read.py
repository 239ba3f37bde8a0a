"""The only reader of scenario files: it reports every error at once, with its place."""

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
from optimizer.scenario.checks.spread_checks import too_wide
from optimizer.scenario.checks.tolerances import odd_tolerances
from optimizer.scenario.checks.too_much import too_long, too_many
from optimizer.scenario.checks.wording import invalid
from optimizer.scenario.dimensions import Chosen, having, part_lengths, values
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.fixing import fixed, wrong_densities
from optimizer.scenario.goals import without_goals
from optimizer.scenario.left_open import groups, left_open, still_open
from optimizer.scenario.recipes import misfit_recipes, pour, recipes
from optimizer.scenario.scenario import ClassDrawing, Scenario, Written
from optimizer.scenario.source.attachments import Files, Where
from optimizer.scenario.source.content import Content, standing, table
from optimizer.scenario.source.files import parsed, text_of
from optimizer.scenario.source.positions import places
from optimizer.scenario.text.scenario_text import ScenarioText
from shared import activity, remembered
from shared.errors import InputError, Problem, told
from shared.models import Reading
from shared.units import DENSITIES, LENGTHS, WEIGHTS, LengthUnit, UnitOf

NONE: Final[Mapping[str, float]] = MappingProxyType({})


@remembered.active()
def read_scenario(
    path: str | FilePath,
    *,
    target_required: bool,
    mould_required: bool = False,
    share_required: bool = False,
    densities: Mapping[str, float] = NONE,
    goal_allowed: bool = True,
) -> Scenario:
    """Return the scenario in the file at `path`.

    `densities` fix parts' pours, in the scenario's own unit of density. [target] may be missing
    unless `target_required`; with `mould_required` no dimension may be left open, with either that
    or `share_required` no share of a blend for the line, and unless `goal_allowed` no number may be
    sought. Raises InputError with every mistake, in file order.
    """
    source = text_of(path)
    read = scenario(
        source,
        file=str(path),
        files=FilePath(path).parent,
        target_required=target_required,
        densities=densities,
    )
    if unknown := list(still_open(read, mould=mould_required, share=share_required)):
        raise InputError(unknown)
    if read.goal is not None and not goal_allowed:
        what = f"{read.goal.words} is sought, and this command asks about a number that is given"
        instead = "give it a value; samespin solve finds the one that is sought"
        raise InputError([read.problem(read.goal.path, what, instead)])
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
    """Return the scenario in the text `source`, as `read_scenario` does.

    `file` is its name in errors, and `files` says where the files are that it names. `chosen` are
    values for dimensions that the text leaves open, `opened` ranges for some that it does not, in
    the text's unit of length.
    """
    attached = Files(files)
    content: Content = parsed(source, file)
    many = list(too_many(content))
    where = {} if many else places(source, content)
    written, goal, wrong_goal = content, None, list[Mistake]()
    if not many:
        content, goal, wrong_goal = without_goals(content)

    def problems(mistakes: Iterable[Mistake]) -> list[Problem]:
        return [problem(mistake, written, where, file) for mistake in mistakes]

    if large := many or list(too_long(content)):
        raise InputError(in_file_order(problems(large)))
    stands, have = standing(content), having(content)
    texts, wrong = _texts(content, chosen, have, attached)
    mistakes = without_echoes(
        [*wrong_goal, *wrong, *references(content, target_required=target_required)]
    )
    reading = _reading(content, {}, attached)
    if errors := [*problems(mistakes), *wrong_densities(content, densities, reading)]:
        raise InputError(in_file_order(errors))

    text = next(iter(texts.values()))
    moulds, mixed = _moulds(texts, stands), recipes(text)
    number = {part.name: i for i, part in enumerate(text.parts)}
    free, rack = left_open(text, part_lengths(content), have, chosen, opened)
    start = bool(free or rack)

    def in_moulds(check: Callable[[tuple[Part, ...]], Iterable[Mistake]]) -> list[Mistake]:
        found = {parts: tuple(check(parts)) for parts in dict.fromkeys(moulds.values())}
        return by_weight({label: found[parts] for label, parts in moulds.items()}, content)

    misfit = in_moulds(lambda parts: misfits(parts, number, text.units, at_start=start))
    target = text.target.asked if text.target else {}
    radius = ball_radius(next(iter(moulds.values()))) if not misfit else 0.0
    sought = "a dimension" if start else "the goal" if goal is not None else None
    misfit = [*(misfit or off_scale(radius, target)), *misfit_recipes(text, mixed, sought)]
    if misfit:
        raise InputError(in_file_order(problems(misfit)))
    # the walls at the start of a search may change, so they give no warnings
    doubtful = [] if start else in_moulds(lambda parts: doubts(parts, number, text.units))
    mended = in_moulds(lambda parts: remarks(parts, number))
    what = "is not used: no number is sought"
    idle = [] if goal or not (text.goal and text.goal.keep) else [Mistake(("goal", "keep"), what)]
    warnings = in_file_order(problems([*unused(content), *idle, *mended, *doubtful]))
    poured = [pour(part.name, part.material, text, mixed) for part in text.parts]
    odd = [*odd_tolerances(text, poured, radius), *too_wide(text, poured, radius, content)]
    if goal is not None and not start and all(pour.low == pour.high for pour in poured):
        what = "is sought, but no density and no dimension is free to reach it"
        odd.append(Mistake(goal.path, what, "give a material a range of densities", shown=False))
    if odd:
        raise InputError(in_file_order(problems(odd)))
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
        arm=text.balance_arm or radius,
        places=where,
        free=free,
        rack=rack,
        chosen=chosen,
        goal=goal,
        warnings=(*told(warnings), *beyond),
    )


def read_again(
    written: Written,
    chosen: Chosen,
    opened: Mapping[str, tuple[float, float]] = MappingProxyType({}),
) -> Scenario:
    """Return a scenario that was read before, with the same files; see `scenario`."""
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
    """Return the text for each weight, dimensions resolved, equal ones once; and all mistakes."""
    texts, wrong = dict[str, ScenarioText](), dict[str, list[Mistake]]()
    same = dict[tuple[tuple[str, float], ...], str]()
    for label in table(content, "weights") or [""]:
        named = values(content, label, chosen, have)
        first = same.setdefault(tuple(named.items()), label)
        if first == label:
            try:
                reading = _reading(content, named, files)
                texts[label], wrong[label] = (
                    ScenarioText.model_validate(content, context=reading),
                    [],
                )
            except ValidationError as error:
                wrong[label] = list(invalid(error, content))
        else:
            texts |= {label: texts[first]} if first in texts else {}
            wrong[label] = wrong[first]
    return texts, by_weight(wrong, content)


def _reading(content: Content, named: Mapping[str, float], files: Files) -> Reading:
    """Return the reading of the numbers, with our own unit in place of an invalid one."""
    units = table(content, "units")

    def size(key: str, known: Mapping[str, UnitOf | LengthUnit]) -> float:
        unit = known.get(str(units.get(key)))
        return 1.0 if unit is None else unit.size

    return Reading(
        length=size("length", LENGTHS),
        weight=size("weight", WEIGHTS),
        density=size("density", DENSITIES),
        rg=size("rg", LENGTHS),
        named=named,
        files=files,
    )


def _moulds(
    texts: Mapping[str, ScenarioText], stands: Mapping[str, Collection[str]]
) -> dict[str, tuple[Part, ...]]:
    """Return the parts of each weight, by its label; equal moulds are one object."""
    known: dict[tuple[Part, ...], tuple[Part, ...]] = {}
    moulds = {}
    for label, text in texts.items():
        parts = tuple(part.part for part in text.parts if label in stands[part.name])
        moulds[label] = known.setdefault(parts, parts)
    return moulds
