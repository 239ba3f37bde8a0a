"""A ball that is half cast: a table of how its next pours answer to what its pieces weigh.

The moves are those of `optimizer.scatter.set_points`, here per gram of each piece as it leaves its
mould, with all that lies in it: only what was weighed is needed, and no masses are subtracted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import Unit
from optimizer.questions.schedule.pouring.casting import Casting, piece_volumes
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scatter.good import Band
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.model import Model
from optimizer.scatter.set_points import SetPoint, gains, set_points
from shared.arrays import Array, frozen
from shared.rounding import rounded

SIGNIFICANT: Final = 3
"""Digits of the largest coefficient for a pour; the others have its decimals."""
NO_MOVE: Final = 1e-9
"""g/cm³ per g: what rounding may leave of a coefficient that is 0."""


@dataclass(frozen=True)
class NextPour:
    """A pour that is moved, with its coefficients of the pieces cast before it, as printed.

    They are moves of its density in `unit`, per g that the piece is too heavy.
    """

    point: SetPoint
    coefficients: tuple[Decimal, ...]
    unit: Unit

    @property
    def part(self) -> str:
        """The part that is poured."""
        return self.point.part

    def asked(self, over: Array) -> Array:
        """Return the moves (k,), g/cm³, for pieces that are too heavy by `over` (k, n), g."""
        return np.asarray(over @ np.array(self.coefficients, dtype=float)) * self.unit.factor

    def mixable(self, asked: Array) -> np.ndarray:
        """Whether the pour moved as `asked` (k,) lies within what can be mixed."""
        low, high = min(self.point.low, self.point.base), max(self.point.high, self.point.base)
        return np.asarray((low <= self.point.base + asked) & (self.point.base + asked <= high))


@dataclass(frozen=True, eq=False)
class HalfCast:
    """The table of one weight, its castings in `order`, innermost first.

    `pieces` (n, n) are the volumes of the regions (columns) in each piece, cm³; `out` the pieces'
    masses, g, `sheet` the same as printed, and `steps` what the scale shows them in. `pours` are
    moved; `tied` are not, since other weights have the same pour. `model` and `bands` are the
    ball's, as mixed.
    """

    model: Model
    bands: tuple[Band, ...]
    order: tuple[str, ...]
    pieces: Array
    out: Array
    sheet: tuple[Decimal, ...]
    steps: Array
    pours: tuple[NextPour, ...]
    tied: tuple[str, ...]

    def column(self, part: str) -> tuple[Decimal | None, ...]:
        """Return what each pour is moved by per g of a piece; None for one that came before it."""
        k = self.order.index(part)
        pours = (pour.coefficients for pour in self.pours)
        return tuple(each[k] if k < len(each) else None for each in pours)

    @property
    def weighed(self) -> tuple[str, ...]:
        """The pieces that are weighed: those that a later pour answers to."""
        return tuple(part for part in self.order if any(self.column(part)))

    def cast(
        self, errors: Array, *, followed: bool = True, on_steps: bool = True
    ) -> tuple[Array, np.ndarray]:
        """Return by how much castings (k, n) are denser than scheduled, and which could be mixed.

        `errors` (k, n) are how far each is from where it was set, g/cm³. The table is `followed` as
        printed, with masses as the scale shows them, or nothing is moved.
        """
        off, over = np.array(errors), np.zeros_like(errors)
        mixable = np.ones(len(errors), dtype=bool)
        moved = {pour.part: pour for pour in self.pours} if followed else {}
        for k, part in enumerate(self.order):
            if part in moved:
                asked = moved[part].asked(over[:, :k])
                mixable &= moved[part].mixable(asked)
                off[:, k] += moved[part].point.move(asked, on_steps=on_steps)
            read = np.round((self.out[k] + off @ self.pieces[k]) / self.steps[k]) * self.steps[k]
            over[:, k] = read - float(self.sheet[k])
        return off, mixable


def half_casts(
    mixed: LineupResult, castings: Mapping[str, Sequence[Casting]], shop: Shop, unit: Unit
) -> dict[str, HalfCast]:
    """Return the table of each weight in which a pour can be moved, for the balls as `mixed`.

    Coefficients are for densities in `unit`. Pours that weights have in common aren't moved.
    """
    poured = [each for each in stated_inputs(shop.scenario) if each.kind in ("density", "batch")]
    line = Line.of(mixed, poured, correlated=False)
    tables, points = dict[str, HalfCast](), tuple(set_points(line))
    for model, bands in zip(line.models, line.bands, strict=True):
        own = {point.part: point for point in points if model.label in point.labels}
        moved = {part: point for part, point in own.items() if len(point.labels) == 1}
        order = tuple(casting.part.name for casting in castings[model.label])
        out = [casting.out for casting in castings[model.label]]
        volumes = piece_volumes(model.ball.map, shop.text.cast)
        places = [model.ball.map.places[part] for part in order]
        pieces = np.array([volumes[part][places] for part in order])
        rows = gains(line, order, tuple(moved.values()))
        by_piece = {
            part: _by_piece(rows[model.label, part][places[:k]], pieces[:k, :k])
            for k, part in enumerate(order)
            if part in moved
        }
        pours = tuple(
            NextPour(moved[part], tuple(_printed(each / unit.factor)), unit)
            for part, each in by_piece.items()
            if np.any(np.abs(each) > NO_MOVE)
        )
        if pours:
            scales = shop.scales
            tables[model.label] = HalfCast(
                model,
                bands,
                order,
                frozen(pieces),
                frozen(out),
                tuple(map(scales.shown, out)),
                frozen([float(scales.step(mass)) for mass in out]),
                pours,
                tuple(part for part in order[1:] if part in own and part not in moved),
            )
    return tables


def _by_piece(gain: Array, pieces: Array) -> Array:
    """Return a gain per g/cm³ of each region (n,) as one per g of each of the `pieces` (n, n).

    Pieces weigh pieces @ densities, so that the gain is (pieces⁻ᵀ gain) @ masses.
    """
    return np.asarray(np.linalg.solve(pieces.T, gain))


def _printed(coefficients: Array) -> Iterator[Decimal]:
    """Yield coefficients with the decimals that the largest of them needs."""
    largest = float(np.max(np.abs(coefficients)))
    digits = max(0, SIGNIFICANT - 1 - math.floor(math.log10(largest))) if largest else 0
    return (rounded(each, digits) for each in coefficients.tolist())
