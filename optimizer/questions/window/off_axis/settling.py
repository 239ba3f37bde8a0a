"""Where a figure is greatest under curved rows, from a start that is nearly there.

Near, it is known which rows hold the optimum: they are met, and what they leave free is best by
second order, so that Newton's method needs a few steps where a climb by linear programs creeps.
Curvature is the difference of the rows' gradients.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optimizer.ball.linear_rows import LinearRow
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.questions.window.off_axis.bound import FLAT, Bound, Held, equation
from shared.arrays import Array

STEPS = 10
"""Newton steps at the most; from a neighbour's optimum it takes two or three."""
CONTRACTING = 4
"""From this step on, each is shorter than half of the last: else it leads nowhere."""
APART = 1e-5
"""By how much a point is moved to see rows turn: g/cm³ and cm."""
ARRIVED = 1e-6
"""g/cm³ and cm. After a step as short as this, the next one would be rounding."""
FARTHEST = 0.5
"""g/cm³ and cm. A longer step leads out of where the rows' curvature says anything."""
MET = 1e-7
"""cm² and tolerances. A row broken by less is met."""
TRIED = 10
"""Sets of rows that are tried from one start."""
ADDED = 3
"""Times that rows which a point breaks are added to those that it is brought back to."""

Tangents: TypeAlias = Callable[[Array], Sequence[LinearRow]]
"""The rows at a point."""


@dataclass(frozen=True, eq=False)
class Settled:
    """A point that nothing near it surpasses, and what holds it.

    Where that is unknown (nothing) there may be `more` near it: what the tangents promise, cm.
    """

    x: Array
    held: Held
    more: float = 0.0


@dataclass(frozen=True, eq=False)
class Settling:
    """What is raised (`aim` · x), between `lower` and `upper`, under rows.

    `sheets(x)` yields the rows that a point is judged by; and others that hold it as well, where it
    lies on a crease and the rows on either side differ. `followed(x)` gives rows that are smooth
    near `x`. Nothing is beyond `most`.
    """

    sheets: Callable[[Array], Iterator[Sequence[LinearRow]]]
    followed: Callable[[Array], Tangents]
    aim: Array
    lower: Array
    upper: Array
    solver: LinearSolver
    most: float = np.inf

    @property
    def free(self) -> np.ndarray:
        """Which columns may move (n,), bool."""
        return np.asarray(self.lower < self.upper)

    def settled(self, x: Array, held: Held) -> Settled | None:
        """Return the best point near `x`, or None where none is found.

        `held` are the rows that are thought to hold it; near a corner others do, which are tried.
        """
        queue, tried = [(x, held)], set[Held]()
        while queue and len(tried) < TRIED:
            start, some = queue.pop(0)
            if some in tried:
                continue
            tried.add(some)
            there = self._newton(start, some)
            if there is None:
                queue += [(start, some - {one}) for one in sorted(some, key=str)]
                continue
            others = list(self._others(there, some))
            if others == [some]:
                return Settled(there, some)
            queue += [(there, other) for other in others]
        return None

    def _newton(self, x: Array, held: Held) -> Array | None:
        """Return the best point on the rows `held`, near `x`, or None where there is none."""
        rows_at, last = self.followed(x), FARTHEST
        for n in range(STEPS):
            here = Bound.at(rows_at(x), held, x, self.free)
            step, best = self._step(rows_at, held, x, here)
            length = float(np.max(np.abs(step), initial=0.0))
            if not best or length > (FARTHEST if n < CONTRACTING else last / 2):
                return None
            x, last = x.copy(), length
            x[self.free] += step
            if length <= ARRIVED:
                return x
        return None

    def restored(self, x: Array, held: Held = frozenset()) -> Array | None:
        """Return a point near `x` where every row is met, those `held` exactly, or None."""
        rows_at = self.followed(x)
        for _ in range(ADDED):
            there = x.copy()
            for _ in range(STEPS):
                here = Bound.at(rows_at(there), held, there, self.free)
                if float(np.max(np.abs(here.missing))) <= MET / 10:
                    break
                there[self.free] += here.back
                if float(np.max(np.abs(there - x))) > FARTHEST:
                    return None
            rows = next(self.sheets(there))
            broken = Rows.of(rows).broken(there)
            if float(np.max(broken)) <= MET:
                return there
            more = held | {row.name for row, by in zip(rows, broken, strict=True) if by > MET}
            if more == held:
                return None
            held = more
        return None

    def _step(self, rows_at: Tangents, held: Held, x: Array, here: Bound) -> tuple[Array, bool]:
        """Return the step onto the rows and, along what they leave open, to where the aim is best.

        Along directions where it is best nowhere (False) the step goes uphill as far.
        """
        if not here.open.shape[1]:
            return here.back, True
        aim = self.aim[self.free]
        y = here.duals(aim)
        turned = []
        for way in here.open.T:
            beside = x.copy()
            beside[self.free] += APART * way
            there = Bound.at(rows_at(beside), held, beside, self.free)
            same = len(there.matrix) == len(here.matrix)
            turned.append((there.matrix - here.matrix).T @ y / APART if same else 0.0 * aim)
        curved = here.open.T @ np.array(turned).T
        values, axes = np.linalg.eigh((curved + curved.T) / 2)
        slope = axes.T @ (here.open.T @ aim)
        along = slope / np.maximum(np.abs(values), FLAT)
        return here.back + here.open @ (axes @ along), bool(values[-1] < -FLAT)

    def _others(self, x: Array, held: Held) -> Iterator[Held]:
        """Yield the rows that may hold a point instead: none but `held` itself where they do.

        The row that is most broken comes in, alone or for another one; else the greatest hindrance,
        on any sheet, is let go. Nothing where the held ones aren't met.
        """
        for n, rows in enumerate(self.sheets(x)):
            broken = Rows.of(rows).broken(x)
            worst = int(np.argmax(broken))
            if n == 0 and broken[worst] > MET:
                if not equation(rows[worst]) and rows[worst].name not in held:
                    more = held | {rows[worst].name}
                    yield more
                    yield from (more - {one} for one in sorted(held, key=str))
                return
            y = Bound.at(rows, held, x, self.free).duals(self.aim[self.free])
            some = [row.name for row in rows if equation(row) or row.name in held]
            bears = {name: one for name, one in zip(some, y, strict=True) if name in held}
            if len(bears) < len(held):
                return
            least = min(bears, key=lambda name: bears[name], default=None)
            if least is not None and bears[least] < -FLAT:
                yield held - {least}
                return
        yield held
