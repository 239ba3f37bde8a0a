"""Proof that nothing lies outside of a window, and balls that are at its corners.

The plane of low RG and differential is cut at the RGs of the window's corners, and between two of
these along its lines, each moved out by the window's error. What isn't between two lines of one
piece is shown to be empty, box by box.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG
from optimizer.ball.weight_class import LinearMap
from optimizer.certificate.witness import NEAR
from optimizer.lineup.columns import Sharing
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import leaning
from optimizer.lineup.proof.affine import Line
from optimizer.lineup.proof.boxes import LineupBox, Node, Open, fallen
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import SAME, Band, apart
from optimizer.questions.window.exact.disjoint_bands import laid_out
from optimizer.questions.window.exact.plane_boxes import rules_box
from optimizer.questions.window.reach import Reach
from shared.arrays import Array

ROOM = 2e-6
"""cm added to a window's own error, at least: a millionth of an inch is 2.5e-6."""
WIDER = (1.0, 3.0, 10.0)
"""Times the error by which lines are moved out until what is beyond is shown to be empty."""
LEAST = 1e-9
"""Violation of rows that the checker will find: what is beyond a line is not far from it."""
PIECE = 150
"""Boxes looked at beyond one line, between two RGs..."""
MOST = 20_000
"""...and in all."""
EMPTY = 2000
"""Boxes looked at where nothing is said to be reached."""


class NotShown(Exception):  # noqa: N818 - a turn in the search, not a fault
    """It can't be shown that something outside of the window is empty."""


@dataclass(eq=False)
class Outside:
    """What lies outside of `bands`, by more than `error` (cm), for one line-up.

    `regions` are those that were left out, as the checker reads them.
    """

    relaxation: Relaxation
    bands: Sequence[Band]
    error: float
    regions: list[dict[str, Any]] = field(default_factory=list)
    off: float = 0.0
    left: int = MOST

    def show(self) -> None:
        """Show that it is empty, as the relaxation's tree. Raises NotShown where it can't be."""
        off, (box, node) = self.error, self.relaxation.start
        knots = apart(
            np.concatenate([[b.rg[0] - off, *b.rg, b.rg[-1] + off] for b in self.bands]), off / 100
        )
        below, rest = self._at_rg(box, node, float(knots[0]))
        self._empty(below)
        inside, above = self._at_rg(*rest, float(knots[-1]))
        self._empty(above)
        self._slabs(inside, knots)

    def _slabs(self, there: Open, knots: Array) -> None:
        """Show it between the first and the last of these RGs."""
        if len(knots) == 2:
            self._slab(there, float(knots[0]), float(knots[1]))
            return
        middle = len(knots) // 2
        below, above = self._at_rg(*there, float(knots[middle]))
        self._slabs(below, knots[: middle + 1])
        self._slabs(above, knots[middle:])

    def _slab(self, there: Open, low: float, high: float) -> None:
        """Show it between two RGs, where every line is straight."""
        self.relaxation.outer.forget()
        box, node = there
        for k, wider in enumerate(WIDER):
            regions = list(self._regions(low, high, wider * self.error))
            try:
                self._between(box, node, regions)
            except NotShown:
                if k == len(WIDER) - 1:
                    raise
            else:
                self.regions += regions
                self.off = max(self.off, wider * self.error)
                return

    def _between(self, box: LineupBox, node: Node, regions: Sequence[dict[str, Any]]) -> None:
        """Show that nothing lies below, between and above these regions."""
        for number, region in enumerate(regions, start=len(self.regions)):
            below, (box, node) = self._at_line(box, node, region["least"])
            self._empty(below)
            (_, held), (box, node) = self._at_line(box, node, region["most"])
            held[:] = ["within", number]
        self._empty((box, node))

    def _regions(self, low: float, high: float, error: float) -> Iterator[dict[str, Any]]:
        """Yield the regions that bands have between two RGs, from the lowest up."""
        ends = []
        for band in self.bands:
            if band.rg[0] - self.error <= low and high <= band.rg[-1] + self.error:
                at = np.clip([low, high], band.rg[0], band.rg[-1])
                ends.append([np.interp(at, band.rg, line.value) for line in (band.low, band.high)])
        for least, most in sorted(ends, key=lambda pair: float(np.sum(pair[0]))):
            lines = [
                _line(low, high, value, way * error) for way, value in ((-1.0, least), (1.0, most))
            ]
            yield {"rg": [low, high], "least": lines[0], "most": lines[1]}

    def _at_rg(self, box: LineupBox, node: Node, at: float) -> list[Open]:
        return fallen(node, ["figure", 0, at], box.halved(0, at))

    def _at_line(self, box: LineupBox, node: Node, line: Line) -> list[Open]:
        parts = [box.with_line(line, below=below) for below in (True, False)]
        return fallen(node, ["line", *line], parts)

    def _empty(self, there: Open) -> None:
        boxes, most = [there], min(PIECE, self.left)
        self.left -= self.relaxation.emptied(boxes, most, "outside of the window", LEAST)
        if boxes:
            raise NotShown


def _line(low: float, high: float, value: Array, off: float) -> Line:
    """Return the line through two values, moved by `off` across."""
    slope = float(value[1] - value[0]) / (high - low)
    return slope, float(value[0]) - slope * low + off * float(np.hypot(1.0, slope))


@dataclass(frozen=True, eq=False)
class Shown:
    """The evidence that nothing lies outside of a window by more than `off` (cm); its corners."""

    evidence: Evidence
    off: float


def outside(
    maps: Sequence[LinearMap], sharing: Sharing, reach: Reach, solver: LinearSolver
) -> Shown | None:
    """Return what shows that `opened` weight classes reach what they are said to, and no more.

    None where that can't be shown. Of a window that was found by search, it is checked at once.
    """
    lineup = Lineup.of([_ruled(linear_map) for linear_map in maps], sharing)
    relaxation, error = Relaxation(lineup, solver), reach.error + ROOM
    if reach.empty:
        proof = relaxation.verdict(EMPTY).proof
        return None if proof is None else Shown(proof, 0.0)
    shown = Outside(relaxation, laid_out(reach.bands, SAME), error)
    try:
        shown.show()
    except NotShown:
        return None
    if not reach.proven and not relaxation.holds:
        return None
    evidence = relaxation.evidence
    reached = [
        (rg, differential, evidence.densities(x))
        for rg, differential, x in _reached(lineup, reach, solver, error)
    ]
    more = {"regions": shown.regions, "within": error + float(NEAR), "reached": reached}
    return Shown(replace(evidence, shown={**evidence.shown, **more}), shown.off)


def _ruled(linear_map: LinearMap) -> LinearMap:
    """Return an `opened` weight class with its rules on RG and differential as its target."""
    rules, target = rules_box(linear_map), dict(linear_map.target)
    differentials = rules.low.value[0], rules.high.value[0]
    for figure, ends in ((LOW_RG, rules.rg), (DIFFERENTIAL, differentials)):
        span = target[figure]
        low, high = max(span.low, float(ends[0])), min(span.high, float(ends[-1]))
        target[figure] = replace(span, low=low, high=high)
    return replace(linear_map, target=target)


def _reached(
    lineup: Lineup, reach: Reach, solver: LinearSolver, error: float
) -> Iterator[tuple[float, float, Array]]:
    """Yield corners of the window, cm, with the columns of a line-up there, where one is found."""
    columns = lineup.columns
    x, held = columns.middle, np.arange(columns.count) >= columns.figures
    for rg, differential in (point for band in reach.bands for point in band.outline.tolist()):
        at = {LOW_RG: rg, DIFFERENTIAL: differential}
        middle = columns.target(columns.middle).tolist()
        figures = [
            at.get(of, value) for of, value in zip(lineup.maps[0].target, middle, strict=True)
        ]
        there = replace(lineup, columns=columns.held(held, np.array(figures)))
        engine = there.engine(solver, there.nearest_rows)
        for start in (x, columns.middle, leaning(lineup, 1.0), leaning(lineup, -1.0)):
            peak = engine.climb(np.r_[start[: columns.figures], figures])
            radii = [ball.radii for ball in there.balls(peak.x)]
            off = [max(abs(r.low - rg), abs(r.differential - differential)) for r in radii]
            if peak.meets_targets and max(off) <= error:
                x = peak.x
                yield rg, differential, x
                break
