"""The screen and the data of `sharing` where the mould is open: one, two or three moulds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from optimizer import version
from optimizer.paper.document import Block, Heading, Listed, Notes, Paragraph, Table, collected
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, margin_lines, plural
from optimizer.questions.line_up.data import margin_data, number, scenario_data
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.page import class_names
from optimizer.questions.sharing.mould_sharing import MouldFrontier, MouldPoint
from shared.rounding import fixed

FORMAT: Final = "samespin/moulds@1"


@collected
def moulds_blocks(frontier: MouldFrontier) -> Iterator[Block]:
    """Yield the screen of one, two and three moulds."""
    result = frontier.points[0].result
    scenario, units, names = result.scenario, Units.of(result.scenario), class_names(result)
    best = frontier.best
    if best is None:
        none = "no line-up exactly on target was found with any number of moulds"
        yield stated(scenario, f"{none}.", "warning")
        return
    first = frontier.able[0]
    words = f"{plural(len(first.groups), 'mould')} will do, with {fixed(first.level, 1)} tolerances"
    if best is not first:
        words += f"; {len(best.groups)} give {fixed(best.level, 1)}"
    yield stated(scenario, f"{words}.", "good")
    yield Paragraph(
        "Neighbouring weights share a mould, and with it every open dimension. Margins are the "
        "smallest of all, walls included."
    )
    yield _table(frontier, names)
    yield Heading("The moulds")
    yield Notes(tuple(line for point in frontier.able for line in _moulds(point, names, units)))
    yield Heading("What limits each")
    yield Notes(
        tuple(
            f"{plural(len(point.groups), 'mould')}: "
            f"{listed(margin_lines(point.result.margins, names, units, 1))}"
            for point in frontier.able
        )
    )
    yield Heading("Notes")
    ways = plural(frontier.tried, "way to group neighbours", "ways to group neighbours")
    yield Notes((f"Searched: {ways}. Better moulds may exist: the search proves nothing.",))
    yield from closing()


def _table(frontier: MouldFrontier, names: dict[str, str]) -> Table:
    def level(point: MouldPoint) -> str:
        return f"{fixed(point.level, 2)} tolerances" if point.found else "none found"

    def weights(point: MouldPoint) -> str:
        return " / ".join(" = ".join(names[label] for label in group) for group in point.groups)

    moulds = Listed(frontier.points).right("moulds", lambda point: str(len(point.groups)))
    return moulds.right("smallest margin", level).left("weights", weights).table


def _moulds(point: MouldPoint, names: dict[str, str], units: Units) -> Iterator[str]:
    unit = units.length.name
    for group in point.groups:
        values = [
            f"{name} {by_label[label]:g}"
            for name, by_label in point.result.scenario.chosen.items()
            for label in [label for label in group if label in by_label][:1]
        ]
        of = plural(len(point.groups), "mould")
        yield f"{of}: {listed([names[label] for label in group])}: {', '.join(values)} {unit}"


def moulds_data(frontier: MouldFrontier) -> dict[str, Any]:
    """Return it as JSON types; dimensions in the scenario's own unit of length."""
    result = frontier.points[0].result
    return {
        "format": FORMAT,
        "scenario": scenario_data(result.scenario),
        "made_by": {"samespin": version(), "solver": result.search.solver},
        "status": "feasible" if frontier.able else "undecided",
        "groupings_tried": frontier.tried,
        "frontier": [
            {
                "moulds": len(point.groups),
                "groups": [list(group) for group in point.groups],
                "tolerances": number(point.level) if point.found else None,
                "smallest_margin": None
                if point.result.smallest is None or not point.found
                else margin_data(point.result.smallest),
                "dimensions": {name: dict(v) for name, v in point.result.scenario.chosen.items()},
                "length_unit": point.result.scenario.text.units.length,
            }
            for point in frontier.points
        ],
    }
