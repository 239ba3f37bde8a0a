"""The low RGs and differentials that one weight class can reach, exactly.

For a weight class with all its parts on the pin axis, whichever axis has the low RG. The class
weight is met, every limit kept; an intermediate differential that is asked for is held.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DIFFERENTIAL, LOW_RG, RADII
from optimizer.ball.targets import Span, Target
from optimizer.ball.weight_class import LinearMap
from optimizer.questions.window.exact.bands import SAME, Band, joined
from optimizer.questions.window.exact.branch import LOW, Branch, branches
from optimizer.questions.window.exact.pieces import laid_out

UNIT = 0.0025
"""cm (about 0.001 in). Stands for a target's tolerance where none is declared: rows are in it."""


@dataclass(frozen=True, eq=False)
class Reach:
    """What is reachable: bands (cm), whether that is all of it, and how far lines may be off (cm).

    `proven` is False where the bands were found by search: every corner of theirs is a ball, but
    there may be more. It is not `whole` where the search lost its way for some choice of axes, or
    there were too many choices to try. Some of it is `off_pin`: balls whose low-RG axis is not the
    pin axis, as far as parts sit on the pin axis.
    """

    bands: tuple[Band, ...]
    error: float
    proven: bool = True
    whole: bool = True
    off_pin: bool = False

    @property
    def known(self) -> bool:
        """Whether something was found, or all was looked at."""
        return self.whole or bool(self.bands)

    @property
    def none(self) -> bool:
        """Whether it is proven that nothing is reachable."""
        return self.empty and self.proven

    @property
    def area(self) -> float:
        """Area, cm²; places where bands lie over each other count once."""
        return sum(band.area for band in laid_out(self.bands, SAME))

    @property
    def size(self) -> tuple[float, float]:
        """Area, cm², and the extent in low RG, cm, which counts where there is no area."""
        return self.area, float(sum(band.rg[-1] - band.rg[0] for band in self.bands))

    @property
    def empty(self) -> bool:
        """Whether nothing is reachable, as far as is known."""
        return not self.bands

    def holds(self, rg: float, differential: float) -> bool:
        """Whether a point (cm) is reachable, as far as the lines are exact."""
        return any(band.holds(rg, differential, self.error) for band in self.bands)


def united(reaches: Iterable[Reach]) -> Reach:
    """Return what lies in any of the reaches."""
    every = list(reaches)
    error = max((one.error for one in every), default=0.0)
    return Reach(
        joined([band for one in every for band in one.bands], max(2 * error, 1e-7)),
        error,
        proven=all(one.proven for one in every),
        whole=all(one.whole for one in every),
        off_pin=any(one.off_pin for one in every),
    )


def opened(linear_map: LinearMap) -> LinearMap:
    """Return the weight class with low RG and differential free, whatever its target.

    What its target asks of the intermediate differential stands.
    """
    free = Span(0.05 * linear_map.radius, linear_map.radius), Span(0.0, linear_map.radius)
    target = Target(*free, None, UNIT, UNIT, None)
    if linear_map.target is not None:
        target = replace(linear_map.target, rg=free[0], differential=free[1])
    freed = replace(linear_map, target=target)
    return replace(freed, bounds=tuple(_freed(bound, freed) for bound in linear_map.bounds))


def _freed(bound: Bound, linear_map: LinearMap) -> Bound:
    """Return a bound as it is of an `opened` weight class: its rules on RG and differential bind.

    But for those that aren't worded for such a class.
    """
    if bound.rule is None or bound.figure not in {LOW_RG, DIFFERENTIAL}:
        return bound
    tolerance = bound.figure.tolerance(linear_map, None)
    return replace(bound, binds=bound.note is None, tolerance=tolerance)


def reach(linear_map: LinearMap) -> Reach | None:
    """Return what an `opened` weight class can reach, or None where it can't be told exactly.

    That is: a part off the pin axis, a core that has an intermediate differential of which
    something is asked, too many densities to enumerate, or, about the CG, axes that change places
    along a curve.
    """
    return exactly(branches(linear_map)) if flat(linear_map) else None


def exactly(some: Iterable[Branch]) -> Reach | None:
    """Return what the balls of some branches reach, or None where it can't be told exactly."""
    reaches = []
    for branch in some:
        if branch.reached is None:
            return None
        bands, error = branch.reached
        reaches.append(Reach(bands, error, off_pin=bool(bands) and branch.pin != LOW))
    return united(reaches)


def flat(linear_map: LinearMap) -> bool:
    """Whether a weight class is kept in by half-spaces alone, at given places of its axes.

    All its parts sit on the pin axis, and no figure of the RGs is bounded that these places don't
    give: low RG and differential, and of a symmetric core the intermediate differential.
    """
    given = {*RADII} if linear_map.symmetric else {LOW_RG, DIFFERENTIAL}
    of_radii = {bound.figure for bound in linear_map.bounds if bound.figure.quantity == "rg"}
    return linear_map.aligned and of_radii <= given
