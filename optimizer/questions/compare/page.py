"""The screen of `compare`, and with its pictures the page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import Ball
from optimizer.paper.document import (
    Block,
    Column,
    Heading,
    Notes,
    Page,
    Paragraph,
    Report,
    Table,
    collected,
    left,
)
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, margin_lines, plural, sentence_case, status_words
from optimizer.questions.compare.better import (
    better_lines,
    caution_lines,
    class_names,
    cost_told,
    filler_told,
)
from optimizer.questions.compare.compare import Candidate, Comparison, told
from optimizer.questions.compare.data import comparison_data
from optimizer.questions.compare.differences import differences
from optimizer.questions.compare.input_words import difference_line
from optimizer.questions.compare.scatter import scatter
from optimizer.questions.compare.slopes import slopes
from optimizer.questions.line_up.balls.densities import density_scale
from optimizer.questions.line_up.balls.strip import strip
from optimizer.questions.line_up.frame import chapter, closing, titled
from optimizer.questions.sharing.fillers import material

T = TypeVar("T")
GAP = "-"
"""Where a candidate has nothing to tell."""
CHANGES = 12
"""Differences of a candidate that are told on a screen."""


def comparison_blocks(comparison: Comparison) -> tuple[Block, ...]:
    """Return what is told of candidates on a screen."""
    return _blocks(comparison, (), CHANGES)


def comparison_report(comparison: Comparison) -> Report:
    """Return the page, with its pictures and everything that differs; and the same as data."""
    return Report(_blocks(comparison, _pictures(comparison), None), comparison_data(comparison))


@collected
def _blocks(comparison: Comparison, pictures: Iterable[Block], most: int | None) -> Iterator[Block]:
    """Yield all that is told, with at most so many differences of each candidate."""
    names = listed([candidate.name for candidate in comparison.candidates])
    yield from chapter("Side by side", f"{names}, side by side")
    yield Notes(tuple(map(_what, comparison.candidates)))
    if cautions := tuple(caution_lines(comparison)):
        yield Notes(cautions, "warning")
    if better := better_lines(comparison):
        yield Heading("Which is better at what")
        yield Notes(better)
    yield Heading("The whole line")
    yield _line_table(comparison)
    yield Notes(tuple(_line_notes(comparison)))
    yield from pictures
    yield from chapter("Weight by weight", "Weight by weight")
    yield _weight_table(comparison)
    yield Page("What differs")
    for candidate in comparison.candidates[1:]:
        yield from _changes(comparison.first, candidate, most)
    yield from closing()


def _pictures(comparison: Comparison) -> Iterator[Block]:
    yield from chapter("Pictures", "Across the weights")
    yield slopes(comparison, class_names(comparison))
    if (room := scatter(comparison)) is not None:
        yield Heading("Room and pours")
        yield room
    yield from chapter("Sections", "The balls in section, densities on one scale")
    colours = density_scale(*(candidate.result for candidate in comparison.candidates))
    for k, candidate in enumerate(comparison.candidates, start=1):
        yield Paragraph(f"{candidate.name}, {status_words(candidate.result.status)}:")
        yield strip(candidate.result, colours, f"line-up-{k}")


def _what(candidate: Candidate) -> str:
    """Return what a candidate is: its scenario, the file it came from, and whether it can be."""
    scenario = candidate.result.scenario
    called = "" if scenario.name == candidate.name else f"{candidate.name}: "
    many = plural(len(candidate.result.weights), "weight")
    status = status_words(candidate.result.status).upper()
    return f"{called}{titled(scenario)} ({candidate.source}); {many}, {status}"


def _line_table(comparison: Comparison) -> Table:
    """Return what is told of each whole line."""
    shared = comparison.shared
    of = "" if comparison.alike_in_weights else " that all have"
    rooms = [candidate.rooms or (GAP, GAP) for candidate in comparison.candidates]
    rows = [
        ("status", *(status_words(candidate.result.status) for candidate in comparison.candidates)),
        ("smallest margin, tolerances", *(str(room[0]) for room in rooms)),
        ("  that densities move, tolerances", *(str(room[1]) for room in rooms)),
        ("different pours", *(str(candidate.pours) for candidate in comparison.candidates)),
        ("moulds", *(str(candidate.moulds) for candidate in comparison.candidates)),
    ]
    for text, words in (
        (f"filler in a ball of each weight{of}, g", filler_told),
        (f"cost of a ball of each weight{of}", cost_told),
    ):
        cells = [words(candidate.material(shared)) for candidate in comparison.candidates]
        if any(cells) and shared:
            rows.append((text, *(GAP if cell is None else cell for cell in cells)))
    return _table(comparison, rows)


def _line_notes(comparison: Comparison) -> Iterator[str]:
    """Yield which limit each line is nearest to, and what the figures above count."""
    units = Units.of(comparison.first.result.scenario)
    every = class_names(comparison)
    for candidate in comparison.candidates:
        names = {weight.label: every[weight.label] for weight in candidate.result.weights}
        for margin in dict.fromkeys((candidate.smallest, candidate.movable)):
            if margin is not None and candidate.found:
                (line, *_) = margin_lines(_same(margin, candidate), names, units)
                what = (
                    "smallest margin"
                    if margin is candidate.smallest
                    else "smallest that densities move"
                )
                yield f"{candidate.name}, {what}: {line}"
    yield "A pour is a material at one density: poured into several weights it counts once."
    held = [candidate.material(comparison.labels) for candidate in comparison.candidates]
    for candidate, known in zip(comparison.candidates, held, strict=True):
        if known.unknown and known.resins:
            parts = listed(known.unknown)
            yield f"{candidate.name}: {parts} has no recipe, so its filler is not known."
    if any(not known.unknown for known in held):
        yield "Filler is what the finished ball holds; what is lost on the way is not counted."
    if any(known.cost is not None for known in held):
        yield "Cost is of the same material, in the currency that the prices are in."


def _same(margin: Margin, candidate: Candidate) -> Iterator[Margin]:
    """Yield the margins to the same limit, of the weights where they are told alike."""
    for other in candidate.result.margins:
        if other.bound.sort == margin.bound.sort and told(other) == told(margin):
            yield other


FIGURES: tuple[tuple[str, str, Callable[[Ball], float]], ...] = (
    ("low RG", "rg", lambda ball: ball.radii.low),
    ("differential", "rg", lambda ball: ball.radii.differential),
    ("intermediate differential", "rg", lambda ball: ball.radii.intermediate_differential),
    ("weight", "mass", lambda ball: ball.properties.mass),
    ("top weight", "imbalance", lambda ball: ball.top_weight),
)
"""What is told of each ball: its name, what kind of figure it is, and how it is measured."""


def _weight_table(comparison: Comparison) -> Table:
    """Return each figure of each weight, candidates beside each other."""
    units, names = Units.of(comparison.first.result.scenario), class_names(comparison)
    rows: list[tuple[str, ...]] = []
    for title, kind, figure in FIGURES:
        unit = getattr(units, kind)
        if title.startswith("intermediate") and all(
            weight.ball.map.symmetric
            for candidate in comparison.candidates
            for weight in candidate.result.weights
        ):
            continue  # high and intermediate RG are alike
        rows.append((f"{sentence_case(title)}, {unit.name}",))
        rows += _by_weight(comparison, names, figure, unit.number)
    for title, words in (("Filler in a ball, g", filler_told), ("Cost of a ball", cost_told)):
        told_ = list(_by_weight(comparison, names, lambda ball: material([ball]), words))
        if any(cell != GAP for _, *cells in told_ for cell in cells):
            rows += [(title,), *told_]
    return _table(comparison, rows)


def _by_weight(
    comparison: Comparison,
    names: dict[str, str],
    figure: Callable[[Ball], T],
    words: Callable[[T], str | None],
) -> Iterator[tuple[str, ...]]:
    for label in comparison.labels:
        weights = [candidate.weight(label) for candidate in comparison.candidates]
        cells = (None if weight is None else words(figure(weight.ball)) for weight in weights)
        yield (f"  {names[label]}", *(GAP if text is None else text for text in cells))


def _changes(first: Candidate, candidate: Candidate, most: int | None) -> Iterator[Block]:
    yield Heading(f"What differs in the input of {candidate.name}, {first.name} → {candidate.name}")
    units = Units.of(first.result.scenario)
    lines = [
        sentence_case(difference_line(each, units))
        for each in differences(first.result.scenario, candidate.result.scenario)
    ]
    more = len(lines) - len(lines[:most])
    rest = (f"and {more} more: all are in a page or a file (-o FILE)",) if more else ()
    yield Notes((*lines[:most], *rest)) if lines else Paragraph("Nothing.")


def _table(comparison: Comparison, rows: Iterable[tuple[str, ...]]) -> Table:
    columns = (left(""), *(Column(candidate.name) for candidate in comparison.candidates))
    return Table(columns, tuple(rows))
