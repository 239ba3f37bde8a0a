"""Notes on the nearest line-up, where none is on target."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from optimizer.ball.figures import LOW_RG
from optimizer.ball.targets import Target
from optimizer.lineup.margins import outside
from optimizer.lineup.result import Infeasible, LineupResult
from optimizer.paper.document import Block, Heading, Notes, Paragraph
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed


def nearest_blocks(
    result: LineupResult, why: Infeasible, names: Mapping[str, str], units: Units
) -> Iterator[Block]:
    """Yield what the line-up below is: nearest with one target for all, or each weight alone."""
    if why.shared is not None:
        aim = aim_words(result.scenario.target, why.shared, units)
        yield Heading("The nearest line-up that all weights can share")
        yield Paragraph(
            f"At {aim}: {_kept(result, why)}, and the target is moved by the smallest amount "
            "found, in its tolerances.",
            "quiet",
        )
        return
    yield Heading("The nearest ball of each weight, on its own")
    shared = {
        None: "",
        True: "No RG and differential can be met exactly by all weights (proven). ",
        False: "No RG and differential were found that all weights can share. ",
    }[why.unshared]
    yield Paragraph(
        f"{shared}Here {_kept(result, why)}, and for each weight the largest miss of RG and "
        "differential, in the target's tolerances, is the smallest found.",
        "quiet",
    )
    if why.loose:
        loose = listed([names[label] for label in why.loose])
        yield Notes(
            (f"{loose}: no densities were found that make the class weight: it is ignored here.",)
        )


def aim_words(target: Target, figures: Sequence[float], units: Units) -> str:
    """Return a target's figures (cm) in words, in its order: "low RG 2.550 in and …"."""
    pairs = zip(target, figures, strict=True)
    return listed([f"{of.words} {units.by(of.quantity).exact(value)}" for of, value in pairs])


def _kept(result: LineupResult, why: Infeasible) -> str:
    """Return which limits the nearest balls keep, as measured."""
    broken = {
        margin.movable
        for weight in result.weights
        for margin in weight.margins
        if not margin.rule_only and outside(margin)
    }
    weights = "class weights, but for those below," if why.loose else "class weights"
    if True in broken:
        return f"{weights} are kept, but not every limit"
    return f"{weights} and {'all limits but those above' if broken else 'limits'} are kept"


def rises(result: LineupResult) -> Iterator[str]:
    """Yield the trade's remark on two pours where the nearest line-up bears it out."""
    by_mass = sorted(result.weights, key=lambda w: -w.ball.map.mass)
    low = [weight.ball.radii.low for weight in by_mass]
    spread = result.scenario.target[LOW_RG].tolerance or 0.0
    if low[-1] - low[0] > spread and bool(np.all(np.diff(low) > 0.0)):
        yield (
            "RG rises as the weight falls, as one core shape and too few pours make it "
            "(common practice, no source)."
        )
