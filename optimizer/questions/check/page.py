"""The screen of `check`: the parts as drawn, walls, what is free, and the balls as measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimizer.ball.limits import WallLimit
from optimizer.paper.document import Block, Heading, Listed, Notes, Table, Tone, collected
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, margin_lines, plural
from optimizer.questions.check.checking import Check, WeightRange
from optimizer.questions.check.measured import measured_blocks
from optimizer.questions.check.mould import mould_blocks
from optimizer.questions.check.recipes import recipe_blocks
from optimizer.questions.line_up.counting import (
    count_lines,
    free_by_weight,
    free_densities,
    targets,
)
from optimizer.questions.line_up.frame import closing, stated, warned
from optimizer.questions.line_up.goal_words import sought_words, unit_of
from optimizer.questions.line_up.meshes import mesh_notes
from optimizer.questions.line_up.warnings import all_warnings


@collected
def check_blocks(check: Check) -> Iterator[Block]:
    """Yield the screen of a check."""
    units = Units.of(check.scenario)
    names = {linear_map.label: linear_map.name for linear_map in check.maps}
    yield stated(check.scenario, *_status(check))
    for mould in check.moulds:
        yield from mould_blocks(mould, check, names, units)
    yield from recipe_blocks(check)
    if check.measured:
        yield from measured_blocks(check, names, units)
    if check.unmeasured:
        yield Heading("What is free")
        yield Notes(tuple(_free(check)))
        yield _reach_table(check, names, units)
    balls = [weight.ball for weight in check.measured]
    if meshes := tuple(mesh_notes(check.maps, balls, names, units)):
        yield Heading("Meshes")
        yield Notes(meshes)
    if check.broken:
        yield Heading("Outside a limit")
        yield Notes(margin_lines(check.broken, names, units), "bad")
    warnings = all_warnings(check.scenario, check.measured, check.sought)
    yield from (closing if check.measured else warned)(warnings)


def _status(check: Check) -> tuple[str, Tone]:
    scenario = check.scenario
    if check.broken:
        many = plural(len({m.bound.sort for m in check.broken}), "limit")
        return f"OUTSIDE {many.upper()}.", "bad"
    if check.out_of_reach:
        labels = listed([reach.label for reach in check.out_of_reach])
        return f"INFEASIBLE. The density ranges can't make the class weight of {labels}.", "bad"
    kept = "every limit is kept" if check.measured else "the file is in order"
    if check.measured and check.unmeasured:
        known = listed([weight.label for weight in check.measured])
        kept = f"the file is in order, every limit is kept in {known}"
    off = [
        weight.label
        for weight in check.measured
        if any(abs(deviation.tolerances or 0.0) > 1.0 for deviation in weight.deviations)
    ]
    if off:
        many = plural(len(off), "weight is", "weights are")
        return f"{kept}, but {many} off target ({listed(off)}).", "warning"
    if not (check.measured or scenario.open) and any(
        isinstance(x, WallLimit) for x in scenario.limits
    ):
        kept = "the file is in order, every wall is kept"
    return f"{kept}.", "good"


def _free(check: Check) -> Iterator[str]:
    """Yield what a solve chooses, and the targets that it must meet."""
    if goal := check.scenario.goal:
        yield sought_words(goal, unit_of(check.scenario, goal))
    scenario = check.scenario
    aims, by_parts = targets(scenario), free_by_weight(scenario)
    free = "; ".join(
        f"{plural(len(parts), 'free density', 'free densities')} in "
        f"{'each weight' if len(by_parts) == 1 else listed(labels)} ({listed(parts)})"
        for parts, labels in by_parts.items()
        if parts
    )
    yield f"{free}; {free_densities(scenario)} in the line of {plural(len(check.maps), 'weight')}."
    yield f"{plural(len(aims), 'target')} in each weight: {listed(aims)}."
    yield from _open(check)
    if not check.measured:
        yield from count_lines(scenario)


def _open(check: Check) -> Iterator[str]:
    """Yield the dimensions that a solve picks."""
    scenario, units = check.scenario, Units.of(check.scenario)
    for dimension in scenario.free:
        span = f"{units.length.number(dimension.low)} to {units.length.told(dimension.high)}"
        alike = _alike(dimension.name, dimension.groups, check)
        yield f"Dimension {dimension.name} is free from {span}{alike}; shown at its start."
    for rack in scenario.rack:
        values = listed([f"{value:g}" for value in rack.values])
        unit = units.length.name
        alike = _alike(rack.name, rack.groups, check)
        yield f"Dimension {rack.name} is one of {values} {unit}{alike}; shown: the first."


def _alike(name: str, groups: Sequence[Sequence[str]], check: Check) -> str:
    """Return which weights share a dimension, in words."""
    having = check.scenario.having(name)
    if any(len(group) == len(having) for group in groups):
        some = len(having) < len(check.maps)
        return f", one for {listed(having)}, which have it" if some else ", one for all weights"
    shared = [" = ".join(group) for group in groups if len(group) > 1]
    return f", alike in {listed(shared)}" if shared else ", its own in each weight"


def _reach_table(check: Check, names: Mapping[str, str], units: Units) -> Table:
    def made(reach: WeightRange) -> str:
        return "yes" if reach.exact else "within tolerance" if reach.within else "NO"

    return (
        Listed([reach for reach in check.reach if reach.label in check.unmeasured])
        .left("weight class", lambda reach: names[reach.label])
        .right(f"asked, {units.mass.name}", lambda reach: units.mass.number(reach.asked))
        .right("lightest", lambda reach: units.mass.number(reach.least))
        .right("heaviest", lambda reach: units.mass.number(reach.most))
        .left("within the density ranges", made)
        .table
    )
