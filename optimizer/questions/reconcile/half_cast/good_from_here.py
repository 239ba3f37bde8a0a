"""The share of good balls among those that are cast as far as one is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from optimizer.lineup.result import LineupResult
from optimizer.questions.reconcile.half_cast.casts import Cast
from optimizer.questions.reconcile.half_cast.one_ball import OneBall
from optimizer.questions.schedule.pouring.casting import piece_volumes
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scatter.inputs import Input, stated_inputs
from optimizer.scatter.line import Line
from optimizer.spread.distribution import Uniform
from optimizer.spread.simulation import Share


@dataclass(frozen=True)
class Good:
    """The share of good balls from here on: with the pours as told, and left as scheduled."""

    poured: Share
    scheduled: Share


def good_from_here(one: OneBall, stepped: OneBall | None, casts: Sequence[Cast]) -> Good | None:
    """Return the share of good balls, of what still varies."""
    if not one.possible:
        return None
    line = Line.of(_uncorrelated(one), list(_left(one, casts)))
    if all(band.rule is not None for band in line.bands[0]):
        return None
    poured = line.with_balls([(stepped or one).ball]).good()[1]
    return Good(poured, line.with_balls([one.as_scheduled]).good()[1])


def _uncorrelated(one: OneBall) -> LineupResult:
    """Return the ball's line without the correlations of what is cast."""
    result, scenario, spread = one.poured, one.scenario, one.scenario.text.spread
    if spread is None:
        return result
    cast = {
        f"{part} {word}" for part in one.known for word in ("density", "density within a batch")
    }
    left = tuple(text for text in spread.correlation if not cast & set(text.between))
    text = scenario.text.model_copy(
        update={"spread": spread.model_copy(update={"correlation": left})}
    )
    return replace(result, scenario=replace(scenario, text=text))


def _left(one: OneBall, casts: Sequence[Cast]) -> Iterator[Input]:
    """Yield what still varies: densities that are known do by half a step of the scale."""
    given = {cast.part: cast for cast in casts if cast.given}
    for input_ in stated_inputs(one.scenario):
        if input_.kind not in ("density", "batch") or input_.of not in given:
            yield input_
    shop = Shop(one.scenario)
    if shop.text.scale is None:
        return
    linear_map = one.ball.map
    pieces = piece_volumes(linear_map, shop.text.cast)
    for cast in given.values():
        if cast.mass is not None:
            volume = pieces[cast.part][linear_map.places[cast.part]]
            half = float(shop.scales.step(cast.mass)) / float(volume) / 2.0
            yield Input("density", Uniform(half=half), ((one.label,),), cast.part)
