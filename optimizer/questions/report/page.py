"""The report of a line-up: its balls, what is within reach, margins, parts, levers, and the proof.

One page that carries the scenario and the solution, so that everything can be rebuilt from it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from optimizer import version
from optimizer.lineup.result import LineupResult
from optimizer.paper.document import (
    Attached,
    Block,
    Chart,
    Column,
    Paragraph,
    Pictures,
    Report,
    Table,
    left,
)
from optimizer.paper.writers.drawing import mould_drawing
from optimizer.questions.line_up.balls.heat import heat
from optimizer.questions.line_up.balls.strip import strip
from optimizer.questions.line_up.data import NAME, identity, solution
from optimizer.questions.line_up.frame import chapter, titled
from optimizer.questions.line_up.page import class_names, findings, opening
from optimizer.questions.parts.page import summary_blocks
from optimizer.questions.report.bars import margin_bars
from optimizer.questions.report.levers_picture import lever_pictures, lever_table
from optimizer.questions.report.proof import proof_blocks
from optimizer.questions.report.trial.panel import trial
from optimizer.questions.tolerance.finding import line_spread
from optimizer.questions.tolerance.page import summary_blocks as spread_blocks
from optimizer.questions.why_not.data import diagnosis_data
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.number_lines import number_lines
from optimizer.questions.why_not.page import diagnosis_blocks
from optimizer.questions.window.page import opening as window_opening
from optimizer.questions.window.page import reach_table
from optimizer.questions.window.picture import Spot, window_picture
from optimizer.questions.window.window import Window
from optimizer.scenario.source.attachments import digest

UNPROVEN_REACH = (
    "What each weight can reach isn't drawn here, since it takes a search of a minute or more: "
    "parts lie off the pin axis, or the intermediate differential of an asymmetric core is "
    "limited. `samespin report X --reach` draws it."
)


def overview(
    result: LineupResult, diagnosis: Diagnosis | None = None, window: Window | None = None
) -> Report:
    """Return the report of a result, with its diagnosis and what is within reach, if known."""
    data = solution(result, {} if diagnosis is None else diagnosis_data(diagnosis, result))
    blocks = (*_blocks(result, diagnosis, window), *_inputs(result), Attached(NAME, data))
    return Report(blocks, data, partial(mould_drawing, result))


def _blocks(
    result: LineupResult, diagnosis: Diagnosis | None, window: Window | None
) -> Iterator[Block]:
    scenario, names = result.scenario, class_names(result)
    why = () if diagnosis is None else diagnosis_blocks(diagnosis, result)
    yield from chapter("Line-up", f"{titled(scenario)}: the line-up")
    yield from opening(result)
    yield strip(result)
    yield from findings(result, why)
    if (short := None if result.accepted else number_lines(result, diagnosis)) is not None:
        yield from chapter("What is short", "What is short, and by how much")
        yield short
    yield from chapter("Within reach", "RG and differential within reach")
    yield from _reach(result, window)
    yield from chapter("Margins", "How near each figure is to its limits")
    yield margin_bars(result)
    yield from chapter("Densities", "Densities, part by part")
    yield heat(result)
    yield from chapter("Parts", "What each part does")
    yield from summary_blocks(result)
    yield Paragraph("`samespin parts X` tells it in numbers, with what 0.01 g/cm³ more would move.")
    yield from chapter("Levers", "What a little more density of each part does")
    yield lever_pictures(result)
    yield lever_table(result)
    if result.accepted and scenario.text.spread is not None:
        yield from chapter("Spread", "What the shop's spread does")
        yield from spread_blocks(line_spread(result))
    yield from chapter("Try densities", "Try densities by hand")
    yield trial(result)
    for weight in result.weights:
        name = names[weight.label]
        yield from chapter(f"Proof, {name}", f"Proof: {name}")
        if not result.accepted:
            yield Paragraph("This is the nearest ball: don't pour from it.", "warning")
        yield from proof_blocks(weight.ball, scenario)


def _reach(result: LineupResult, window: Window | None) -> Iterator[Block]:
    if window is None:
        yield Paragraph(UNPROVEN_REACH)
        return
    yield from window_opening(window)
    yield Pictures(
        window_picture(window, _off_target(result)),
        "Each outline is what one weight can reach within its limits; the filled region is what "
        "all weights can share. The list names the limits that make its edges.",
    )
    yield reach_table(window)


def _off_target(result: LineupResult) -> tuple[Spot, ...]:
    """Return the points of the nearest balls, where there is no line-up."""
    if result.accepted:
        return ()
    names = class_names(result)
    return tuple(
        Spot(names[w.label], w.ball.radii.low, w.ball.radii.differential) for w in result.weights
    )


def _inputs(result: LineupResult) -> Iterator[Block]:
    """Yield the scenario as read, and what made the result."""
    scenario, search = result.scenario, result.search
    yield from chapter("Inputs", "Inputs, complete")
    yield Table(
        (left("made from"), left("")),
        (
            ("scenario", titled(scenario)),
            ("fingerprint (SHA-256 of its content)", identity(scenario)["sha256"]),
            ("made by", ", ".join(filter(None, (f"samespin {version()}", search.solver)))),
        ),
    )
    if scenario.files:
        yield Table(
            (left("file that the scenario names"), Column("bytes"), left("SHA-256")),
            tuple((name, str(len(data)), digest(data)) for name, data in scenario.files.items()),
        )
    yield Paragraph(
        "This page carries the scenario, with the files that it names, and the solution: samespin "
        "reads it in place of either (samespin report, compare and schedule take it as X)."
    )
    yield Chart(tuple(scenario.source.splitlines()))
