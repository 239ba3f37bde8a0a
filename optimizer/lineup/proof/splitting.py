"""How boxes of line-ups are split, with all parts on the pin axis."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.boxes import SYMMETRIC, LineupBox, Node, Open, fallen
from optimizer.lineup.proof.places import Broken, Places
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.target_rows import ORDERS
from shared.arrays import Array

TIGHT = 1e-7
"""cm². If its columns are this close to what they stand for, a relaxation is exact."""


@dataclass(frozen=True, eq=False)
class Splits:
    """How the boxes of one line-up are split; `broken` makes leaves of those shown to be empty."""

    outer: Outer
    solver: LinearSolver
    broken: Broken

    def start(self, node: Node) -> Open:
        """Return the box of all line-ups, below a node."""
        return Places(self.outer, self.solver, self.broken).whole(node)

    def split(self, box: LineupBox, node: Node, x: Array) -> list[Open]:
        """Return smaller boxes that cover `box`, or none if there is nothing to split.

        First the side of the CG, then the order of axes, then the column that is farthest, at `x`,
        from the quantity it stands for.
        """
        outer, classes = self.outer, range(len(self.outer.maps))
        if parts := self.ordered(box, node, classes):
            return parts
        masses = np.array([outer.mass[k].row @ x for k in classes])
        first = np.array([outer.first(k).row @ x for k in classes])
        p = x[outer.n : outer.n + len(classes)]
        curved = np.array([linear_map.about == "cg" for linear_map in outer.maps])
        gaps = np.where(curved, np.abs(p / masses - (first / masses) ** 2), 0.0)
        i, loose = self.loose(box, x)
        if max(float(np.max(gaps)), loose) <= TIGHT:
            return []
        if loose >= np.max(gaps):
            return self.halved(box, node, i)
        k = int(np.argmax(gaps))
        middle = sum(box.c[k]) / 2
        return self.cut(box, node, k, middle, middle)

    def ordered(self, box: LineupBox, node: Node, classes: Iterable[int]) -> list[Open]:
        """Return the sides on which a class's CG may be, or its orders of axes, if undecided."""
        near = self.outer.offset[0]
        for k in classes:
            if box.c[k][0] < 0.0 < box.c[k][1]:
                return self.cut(box, node, k, -near, near)
        for k in classes:
            if box.orders[k] is None:
                orders = SYMMETRIC if self.outer.maps[k].symmetric else ORDERS
                boxes = [box.with_order(k, order) for order in orders]
                return fallen(node, ["order", k], boxes, keys=[list(order) for order in orders])
        return []

    def cut(self, box: LineupBox, node: Node, k: int, below: float, above: float) -> list[Open]:
        """Return the line-ups with the CG of class `k` at most `below`, and at least `above`."""
        return fallen(node, ["c", k, below, above], box.parted(k, below, above))

    def halved(self, box: LineupBox, node: Node, i: int) -> list[Open]:
        """Return the line-ups with figure `i` in either half of its range."""
        return fallen(node, ["figure", i, sum(box.figures[i]) / 2], box.halved(i))

    def loose(self, box: LineupBox, x: Array) -> tuple[int, float]:
        """Return the line's figure to split, and how far classes are off it (cm²) at `x`.

        A difference that its own range does not hold is off because the RGs' ranges are wide.
        """
        outer, masses = self.outer, np.array([mass.row @ x for mass in self.outer.mass])
        radii = np.array([
            [np.sqrt(max(0.0, float(outer.inertias[k][a].row @ x))) for a in order or ()]
            for k, order in enumerate(box.orders)
        ]) / np.sqrt(masses)[:, None]  # fmt: skip
        low, middle, high = radii.T
        widths = [b - a for a, b in box.figures]
        loosest = [(0, 0.0)]
        for i, values in enumerate((low, high - low, high - middle)[: 2 + outer.asked]):
            (a, b), off = box.figures[i], outer.tolerances[i]
            shared = float(np.clip((np.min(values) + np.max(values)) / 2, a, b))
            beyond = float(np.max(np.abs(values - shared))) - off
            outside = max(a - off - float(np.min(values)), float(np.max(values)) - b - off)
            j = i if outside <= 0.0 else int(np.argmax(widths[: max(i, 1)]))
            j = j if widths[j] > 0.0 else int(np.argmax(widths))
            if widths[j] > 0.0:
                loosest.append((j, 2.0 * beyond * float(np.max(high))))
        return max(loosest, key=lambda pair: pair[1])
