"""The only reader of scenario files: it reports every error at once, with its place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Final

from geometry.parts import Part
from optimizer.scenario.checks.by_weight import by_weight
from optimizer.scenario.checks.fit import doubts, misfits, off_scale, remarks
from optimizer.scenario.checks.goal_checks import idle_goals, vain_goals
from optimizer.scenario.checks.mistakes import Mistake, in_file_order, problem, without_echoes
from optimizer.scenario.checks.references import references, unused
from optimizer.scenario.checks.spread_checks import too_wide
from optimizer.scenario.checks.tolerances import odd_tolerances
from optimizer.scenario.checks.too_much import too_long, too_many
from optimizer.scenario.dimensions import Chosen, having, part_lengths
from optimizer.scenario.drawn import ball_radius
from optimizer.scenario.fixing import fixed, wrong_densities
from optimizer.scenario.goals import without_goals
from optimizer.scenario.left_open import groups, left_open, still_open
from optimizer.scenario.recipes import misfit_recipes, pour, recipes
from optimizer.scenario.scenario import ClassDrawing, Scenario, Written
from optimizer.scenario.source.attachments import Files, Where
from optimizer.scenario.source.content import Content, standing
from optimizer.scenario.source.files import parsed, text_of
from optimizer.scenario.source.positions import NOWHERE, Place, places
from optimizer.scenario.source.what_if import changed
from optimizer.scenario.texts import moulds as moulds_of
from optimizer.scenario.texts import reading as reading_of
from optimizer.scenario.texts import texts as each_text
from shared import activity, remembered, what_if
from shared.errors import InputError, Problem, told
from shared.models import Path

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
    sought. The text is changed as `shared.what_if` asks. Raises InputError with every mistake, in
    file order.
    """
    text = changed(text_of(path), str(path), what_if.asked())
    read = scenario(
        text.source,
        file=str(path),
        files=FilePath(path).parent,
        target_required=target_required,
        densities=densities,
        stands=text.places,
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
    stands: dict[Path, Place] | None = None,
) -> Scenario:
    """Return the scenario in the text `source`, as `read_scenario` does.

    `file` is its name in errors, and `files` says where the files are that it names. `chosen` are
    values for dimensions that the text leaves open, `opened` ranges for some that it does not, in
    the text's unit of length. `stands` are the places of keys, if the text is not the file's.
    """
    attached = Files(files)
    content: Content = parsed(source, file)
    many = list(too_many(content))
    where = {} if many else stands or places(source, content)
    written, goal, wrong_goal = content, None, list[Mistake]()
    if not many:
        content, goal, wrong_goal = without_goals(content)

    def problems(mistakes: Iterable[Mistake]) -> list[Problem]:
        return [problem(mistake, written, where, file) for mistake in mistakes]

    if large := many or list(too_long(content)):
        raise InputError(in_file_order(problems(large)))
    within, have = standing(content), having(content)
    texts, wrong = each_text(content, chosen, have, attached)
    idle = [each for each in unused(content) if stands and stands.get(each.path, NOWHERE).said]
    mistakes = [*wrong_goal, *wrong, *idle]
    mistakes += references(content, target_required=target_required)
    mistakes = without_echoes(mistakes)
    reading = reading_of(content, {}, attached)
    if errors := [*problems(mistakes), *wrong_densities(content, densities, reading)]:
        raise InputError(in_file_order(errors))

    text = next(iter(texts.values()))
    moulds, mixed = moulds_of(texts, within), recipes(text)
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
    idle = [*unused(content), *idle_goals(text, goal)]
    warnings = in_file_order(problems([*idle, *mended, *doubtful]))
    poured = [pour(part.name, part.material, text, mixed) for part in text.parts]
    odd = [*odd_tolerances(text, poured, radius), *too_wide(text, poured, radius, content)]
    odd += vain_goals(goal, poured, mixed, opened=start)
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
        sharing={part.name: groups(part.same_density, within[part.name]) for part in text.parts},
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
        stands=written.places,
    )


def read_changed(written: Written) -> Scenario:
    """Return a scenario that was read before, its text changed as `shared.what_if` asks."""
    text = changed(written.source, written.file, what_if.asked())
    return read_again(replace(written, source=text.source, places=text.places), {})
