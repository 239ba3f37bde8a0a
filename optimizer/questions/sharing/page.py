"""The screen of `sharing`: how few different pours, their cost in margin, what is shared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.paper.document import (
    Block,
    Column,
    Heading,
    Listed,
    Notes,
    Paragraph,
    Table,
    collected,
)
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, margin_lines, plural, sentence_case, status_words
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.page import class_names
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.sharing.fewest import Fewest
from optimizer.questions.sharing.pours import Point
from optimizer.questions.sharing.sharing import Frontier
from shared.rounding import fixed


@collected
def sharing_blocks(frontier: Frontier) -> Iterator[Block]:
    """Yield the screen of a frontier."""
    own = frontier.own
    scenario, names = own.result.scenario, class_names(own.result)
    if not own.found:
        why = own.result.infeasible
        proof = "" if why is None else f" {sentence_case(why.proof)}."
        status = status_words(own.result.status).upper()
        none = "There is no line-up in which to share densities."
        if own.result.accepted:
            none = "Sharing is searched only where the target can be met exactly."
        yield stated(scenario, f"{status}. {none}{proof}", "bad")
        return
    yield stated(scenario, _summary(frontier), "good")
    yield Paragraph(
        "A pour is a material at one density; mixed once for several weights or parts, it counts "
        "once. Margins are the smallest that depend on density, in tolerances."
    )
    yield _table(frontier)
    yield Heading("Shared pours")
    yield Notes(tuple(_shared_lines(frontier, names)))
    if frontier.alone:
        yield Heading("One density in every weight, part by part")
        yield Notes(tuple(_alone_lines(frontier)))
    yield Heading("Notes")
    yield Notes(tuple(_notes(frontier, names)))
    yield from closing(result_warnings(own.result))


def _summary(frontier: Frontier) -> str:
    own, first, last = frontier.own, frontier.points[0], frontier.points[-1]
    had = f"{plural(own.pours, 'pour')} as it stands"
    free = "" if first.pours == own.pours else f", {first.pours} at the same margin"
    fewest = frontier.fewest
    if fewest is not None and fewest.closed:
        return f"{had}{free}; the fewest is {fewest.found}, proven."
    fewer = last.pours if fewest is None else fewest.found
    needed = "" if fewest is None else f"; at least {fewest.at_least} are needed, proven"
    if fewer == own.pours:
        return f"{had}; no line-up with fewer was found{needed}."
    found = "" if free and first.pours == fewer else f"; the fewest found is {fewer}"
    return f"{had}{free}{found}{needed}."


def _table(frontier: Frontier) -> Table:
    """Return the frontier: pours, margin, and how many densities each part takes."""
    parts = [pour.part for pour in frontier.own.result.scenario.pours]

    def densities(point: Point) -> list[str]:
        return [str(sum(part in dict(r.poured) for r in point.recipes)) for part in parts]

    rows = Listed(_shown(frontier)).right("pours", lambda point: str(point.pours))
    return rows.right("smallest margin", level).several(map(Column, parts), densities).table


def _shown(frontier: Frontier) -> tuple[Point, ...]:
    """Return the points of the frontier, preceded by the line-up as it stands if it isn't one."""
    own, points = frontier.own, frontier.points
    return points if points[0].pours == own.pours else (own, *points)


def level(point: Point) -> str:
    """Return the smallest margin in tolerances, in words; a dash where none has a tolerance."""
    return "-" if point.smallest is None else fixed(point.level, 1)


def _shared_lines(frontier: Frontier, names: Mapping[str, str]) -> Iterator[str]:
    for point in _shown(frontier):
        shared = "; ".join(shared_pours(point, names)) or "nothing"
        yield f"{plural(point.pours, 'pour')}, {_cost(frontier.own, point)}: {shared}"
    if (fewest := frontier.fewest) is not None and fewest.across and fewest.point is not None:
        shared = "; ".join(shared_pours(fewest.point, names))
        yield (
            f"{plural(fewest.point.pours, 'pour')}, {_cost(frontier.own, fewest.point)}, with "
            f"different parts poured alike, which same_density can't ask for: {shared}"
        )


def _cost(own: Point, point: Point) -> str:
    """Return a point's margin, beside that of the line-up as it stands."""
    if own.smallest is None:
        return "no tolerance declared"
    before, after = level(own), level(point)
    return f"{after} tolerances" if before == after else f"{before} → {after} tolerances"


def shared_pours(point: Point, names: Mapping[str, str]) -> Iterator[str]:
    """Yield the pours that are shared; a density that the scenario fixes only between parts."""
    pours = point.result.scenario.pours
    given, order = {pour.part for pour in pours if pour.fixed}, [pour.part for pour in pours]
    for recipe in sorted(point.recipes, key=lambda recipe: order.index(recipe.poured[0][0])):
        places: dict[str, list[str]] = {}
        for part, label in recipe.poured:
            places.setdefault(part, []).append(names[label])
        if len(recipe.poured) == 1 or (len(places) == 1 and given & set(places)):
            continue
        yield " with ".join(
            f"{part} in {'every weight' if len(labels) == len(names) else listed(labels)}"
            for part, labels in places.items()
        )


def _alone_lines(frontier: Frontier) -> Iterator[str]:
    scenario = frontier.own.result.scenario
    for part, point in frontier.alone.items():
        stands = scenario.standing(part)
        has = "" if len(stands) == len(scenario.classes) else " that have it"
        shared = f"one {part} density for all {plural(len(stands), 'weight')}{has}"
        if point is None:
            yield f"{shared}: none found"
        else:
            yield f"{shared}: {_cost(frontier.own, point)}, {plural(point.pours, 'pour')}"


def _notes(frontier: Frontier, names: Mapping[str, str]) -> Iterator[str]:
    own, fewest = frontier.own.result, frontier.points[-1]
    units = Units.of(own.scenario)
    if own.smallest is not None and not own.smallest.movable:
        given = (margin for margin in own.margins if not margin.movable)
        (line,) = margin_lines(given, names, units, 1)
        yield f"The same for all densities: {line}"
    if fewest.smallest is not None:
        (line,) = margin_lines([fewest.smallest], names, units)
        yield f"The limit at {plural(fewest.pours, 'pour')}: {line}"
    yield from _proven(frontier.fewest)


def _proven(fewest: Fewest | None) -> Iterator[str]:
    """Yield what is known beyond the line-ups that are shown."""
    solved = "Each line-up shown was solved and measured"
    if fewest is None:
        yield (
            f"{solved}. Line-ups with fewer pours or more margin may exist: the search proves "
            "nothing."
        )
        return
    may = "more margin" if fewest.closed else "fewer pours or more margin"
    yield f"{solved}; line-ups with {may} may exist."
    further = " --proof FILE.json looks further." if fewest.open_ended else ""
    yield (
        f"Proven: a line-up that meets the target exactly needs at least "
        f"{plural(fewest.at_least, 'pour')}, whichever parts and weights share them.{further}"
    )
