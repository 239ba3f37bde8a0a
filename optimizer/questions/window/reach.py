"""The low RGs and differentials that one weight class can reach, exactly.

For a weight class with all its parts on the pin axis, whichever axis has the low RG. The class
weight is met, every limit kept, and an intermediate differential held if the target has one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import CG_OFFSET, DIFFERENTIAL, LOW_RG, RADII, Figure
from optimizer.ball.targets import Span, Target
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.proof.evidence import Evidence
from optimizer.questions.window.exact.bands import SAME, Band, joined
from optimizer.questions.window.exact.branch import LOW, Branch
from optimizer.questions.window.exact.disjoint_bands import laid_out

PLANE: Final = (LOW_RG, DIFFERENTIAL)
"""The figures that a window is drawn over; other figures of a target are held."""
UNIT = 0.0025
"""cm (about 0.001 in). The unit of a target's rows where no tolerance is declared."""


@dataclass(frozen=True, eq=False)
class Reach:
    """What is reachable: bands (cm), and the largest error of the lines between corners (cm).

    `proven` is False where the bands were found by search: every corner is a ball, but there may be
    more beyond. Where a proof was found that nothing lies `beyond` the lines by more than `error`,
    what was found is that all between them is reached. It isn't `whole` where the search got lost
    for some choice of axes, or there were too many choices to try. With parts on the pin axis it is
    `off_pin` if it has balls whose low-RG axis is not the pin axis.
    """

    bands: tuple[Band, ...]
    error: float
    proven: bool = True
    whole: bool = True
    off_pin: bool = False
    beyond: Evidence | None = None

    @property
    def bounded(self) -> bool:
        """Whether it is proven that nothing lies beyond the lines."""
        return self.proven or self.beyond is not None

    @property
    def known(self) -> bool:
        """Whether something was found, or everything was searched."""
        return self.whole or bool(self.bands)

    @property
    def none(self) -> bool:
        """Whether it is proven that nothing is reachable."""
        return self.empty and self.proven

    @property
    def area(self) -> float:
        """Area, cm²; where bands overlap, it counts once."""
        return sum(band.area for band in laid_out(self.bands, SAME))

    @property
    def size(self) -> tuple[float, float]:
        """Area, cm², and the extent in low RG, cm, which decides where there is no area."""
        return self.area, float(sum(band.rg[-1] - band.rg[0] for band in self.bands))

    @property
    def empty(self) -> bool:
        """Whether nothing is reachable, as far as is known."""
        return not self.bands

    def holds(self, rg: float, differential: float) -> bool:
        """Whether a point (cm) is reachable, as far as the lines are exact."""
        return any(band.holds(rg, differential, self.error) for band in self.bands)


LOST = Reach((), 0.0, proven=False, whole=False)
"""Where the search lost its way."""


def united(reaches: Iterable[Reach]) -> Reach:
    """Return what lies in any of the reaches."""
    every = list(reaches)
    error = max((reach.error for reach in every), default=0.0)
    return Reach(
        joined([band for reach in every for band in reach.bands], max(2 * error, 1e-7)),
        error,
        proven=all(reach.proven for reach in every),
        whole=all(reach.whole for reach in every),
        off_pin=any(reach.off_pin for reach in every),
    )


def opened(linear_map: LinearMap) -> LinearMap:
    """Return the weight class with low RG and differential free, whatever its target.

    The other figures of its target stand.
    """
    target = {**dict.fromkeys(PLANE, Span(0.0, 0.0, UNIT)), **linear_map.target}
    for figure, least in zip(PLANE, (0.05 * linear_map.radius, 0.0), strict=True):
        target[figure] = replace(target[figure], low=least, high=linear_map.radius)
    freed = replace(linear_map, target=target)
    return replace(freed, bounds=tuple(_freed(bound, freed) for bound in linear_map.bounds))


def figures_held(target: Target) -> dict[Figure, Span]:
    """Return the figures of a target at which windows are asked."""
    return {figure: span for figure, span in target.items() if figure not in PLANE}


def _freed(bound: Bound, linear_map: LinearMap) -> Bound:
    """Return a bound of an `opened` weight class: rules on RG and differential bind.

    Rules that aren't worded for the class don't.
    """
    if bound.rule is None or bound.figure not in PLANE:
        return bound
    tolerance = bound.figure.tolerance(linear_map, None)
    return replace(bound, binds=bound.note is None, tolerance=tolerance)


def reached(branch: Branch) -> Reach | None:
    """Return what the balls of a branch reach, or None where that isn't known exactly."""
    if branch.reached is None:
        return None
    bands, error = branch.reached
    return Reach(bands, error, off_pin=bool(bands) and branch.pin != LOW)


def exactly(branches: Iterable[Branch]) -> Reach | None:
    """Return what the balls of these branches reach, or None where one isn't known exactly.

    That is the case for too many densities to enumerate or, about the CG, axes that change places
    along a curve.
    """
    reaches = []
    for branch in branches:
        if (reach := reached(branch)) is None:
            return None
        reaches.append(reach)
    return united(reaches)


def flat(linear_map: LinearMap) -> bool:
    """Whether half-spaces alone bound a weight class, given the places of its axes.

    All its parts sit on the pin axis, and only figures that the places determine are bounded: low
    RG and differential, and for a symmetric core the intermediate differential. No CG offset is
    asked for.
    """
    given = {*RADII} if linear_map.symmetric else {*PLANE}
    of_radii = {bound.figure for bound in linear_map.bounds if bound.figure.quantity == "rg"}
    return linear_map.aligned and of_radii <= given and CG_OFFSET not in linear_map.target
