"""The screen of `compare`, and with its pictures the page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final, TypeVar

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import (
    CG_OFFSET,
    INTERMEDIATE_DIFFERENTIAL,
    RADII,
    TOP_WEIGHT,
    WEIGHT,
    Figure,
)
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
    cost_words,
    filler_words,
)
from optimizer.questions.compare.compare import Candidate, Comparison, tenths
from optimizer.questions.compare.data import comparison_data
from optimizer.questions.compare.input_words import difference_lines
from optimizer.questions.compare.scatter import scatter
from optimizer.questions.compare.slopes import slopes
from optimizer.questions.line_up.balls.densities import density_scale
from optimizer.questions.line_up.balls.strip import strip
from optimizer.questions.line_up.frame import chapter, closing, titled
from optimizer.questions.sharing.fillers import material

T = TypeVar("T")
GAP = "-"
"""Where a candidate has no figure."""
CHANGES = 12
"""Differences of a candidate shown on a screen."""


def comparison_blocks(comparison: Comparison) -> tuple[Block, ...]:
    """Return the screen of a comparison."""
    return _blocks(comparison, (), CHANGES)


def comparison_report(comparison: Comparison) -> Report:
    """Return the page, with pictures and every difference; and the same as data."""
    return Report(_blocks(comparison, _pictures(comparison), None), comparison_data(comparison))


@collected
def _blocks(comparison: Comparison, pictures: Iterable[Block], most: int | None) -> Iterator[Block]:
    """Yield the page, with at most `most` differences of each candidate."""
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
    """Return what a candidate is: its scenario, the file it came from, and its status."""
    scenario = candidate.result.scenario
    called = "" if scenario.name == candidate.name else f"{candidate.name}: "
    many = plural(len(candidate.result.weights), "weight")
    status = status_words(candidate.result.status).upper()
    return f"{called}{titled(scenario)} ({candidate.source}); {many}, {status}"


def _line_table(comparison: Comparison) -> Table:
    """Return the figures of each whole line."""
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
        (f"filler in a ball of each weight{of}, g", filler_words),
        (f"cost of a ball of each weight{of}", cost_words),
    ):
        cells = [words(candidate.material(shared)) for candidate in comparison.candidates]
        if any(cells) and shared:
            rows.append((text, *(GAP if cell is None else cell for cell in cells)))
    return _table(comparison, rows)


def _line_notes(comparison: Comparison) -> Iterator[str]:
    """Yield the limit nearest to each line, and what the figures above count."""
    units = Units.of(comparison.first.result.scenario)
    every = class_names(comparison)
    for candidate in comparison.candidates:
        names = {weight.label: every[weight.label] for weight in candidate.result.weights}
        for margin in dict.fromkeys((candidate.smallest, candidate.movable)):
            if margin is not None and candidate.found:
                (line, *_) = margin_lines(_same(margin, candidate), names, units)
                which = "margin" if margin is candidate.smallest else "that densities move"
                yield f"{candidate.name}, smallest {which}: {line}"
    yield "A pour is a material at one density: poured into several weights it counts once."
    materials = [candidate.material(comparison.labels) for candidate in comparison.candidates]
    for candidate, held in zip(comparison.candidates, materials, strict=True):
        if held.unknown and held.resins:
            parts = listed(held.unknown)
            yield f"{candidate.name}: {parts} has no recipe, so its filler is not known."
    if any(not held.unknown for held in materials):
        yield "Filler is what the finished ball holds; what is lost on the way is not counted."
    if any(held.cost is not None for held in materials):
        yield "Cost is of the same material, in the currency that the prices are in."


def _same(margin: Margin, candidate: Candidate) -> Iterator[Margin]:
    """Yield the margins to the same limit that print alike, of whatever weight."""
    for other in candidate.result.margins:
        same = tenths(other.tolerances) == tenths(margin.tolerances)
        if same and other.bound.sort == margin.bound.sort:
            yield other


FIGURES: Final[tuple[Figure, ...]] = (*RADII, WEIGHT, TOP_WEIGHT, CG_OFFSET)
"""The figures in the table of balls."""


def _weight_table(comparison: Comparison) -> Table:
    """Return each figure of each weight, candidates beside each other."""
    units, names = Units.of(comparison.first.result.scenario), class_names(comparison)
    weights = [weight for each in comparison.candidates for weight in each.result.weights]
    symmetric = all(weight.ball.map.symmetric for weight in weights)
    rows: list[tuple[str, ...]] = []
    for figure in FIGURES:
        unit = units.by(figure.quantity)
        if not (symmetric and figure == INTERMEDIATE_DIFFERENTIAL):
            rows.append((f"{sentence_case(figure.words)}, {unit.name}",))
            rows += _by_weight(comparison, names, figure.value, unit.number)
    poured = [weight.ball.map.pours for weight in weights]
    for part in dict.fromkeys(pour.part for pours in poured for pour in pours):
        rows.append((f"Density of {part}, {units.density.name}",))
        rows += _by_weight(comparison, names, _density(part), _or_none(units.density.number))
    for title, words in (("Filler in a ball, g", filler_words), ("Cost of a ball", cost_words)):
        by_weight = list(_by_weight(comparison, names, lambda ball: material([ball]), words))
        if any(cell != GAP for _, *cells in by_weight for cell in cells):
            rows += [(title,), *by_weight]
    return _table(comparison, rows)


def _density(part: str) -> Callable[[Ball], float | None]:
    return lambda ball: ball.density(part)


def _or_none(words: Callable[[float], str]) -> Callable[[float | None], str | None]:
    return lambda value: None if value is None else words(value)


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
    every = difference_lines(first.result.scenario, candidate.result.scenario)
    lines = list(map(sentence_case, every))
    more = len(lines) - len(lines[:most])
    rest = (f"and {more} more: all are in a page or a file (-o FILE)",) if more else ()
    yield Notes((*lines[:most], *rest)) if lines else Paragraph("Nothing.")


def _table(comparison: Comparison, rows: Iterable[tuple[str, ...]]) -> Table:
    columns = (left(""), *(Column(candidate.name) for candidate in comparison.candidates))
    return Table(columns, tuple(rows))
