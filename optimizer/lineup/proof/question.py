"""The question whether a line-up exists, in the numbers that a proof is checked against."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import (
    DENSITY,
    DENSITY_STEP,
    INTERMEDIATE_DIFFERENTIAL,
    PIN_DISTANCE,
    TOP_WEIGHT,
    WEIGHT,
    Figure,
)
from optimizer.ball.weight_class import LinearMap
from optimizer.certificate.forms import FEATURES, ON_AXIS
from shared.arrays import Array

if TYPE_CHECKING:
    from optimizer.lineup.proof.known import Known

KINDS: Final[dict[Figure, str]] = {
    WEIGHT: "mass",
    DENSITY: "density",
    DENSITY_STEP: "step",
    TOP_WEIGHT: "imbalance",
    PIN_DISTANCE: "mark",
    INTERMEDIATE_DIFFERENTIAL: "intermediate",
}
"""What the checker calls limits on these figures; it knows no others."""

ROUNDING: Final = 1e-12
"""The error of a moment, relative to the whole ball's: closed forms are exact to rounding, and
quadrature goes on to that."""

PLACES: Final = ((3, 3), (0, 3), (1, 3), (2, 3), (0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
"""Where the checker's features stand in a matrix of moments."""


@dataclass(frozen=True)
class ClassLimit:
    """A bound that class `k` must keep, between `low` and `high`, in the figure's unit.

    `unit` is the checker's form over the figure.
    """

    k: int
    bound: Bound
    low: float
    high: float
    parts: tuple[int, ...]
    unit: float

    def data(self, level: float) -> dict[str, Any]:
        """Return it as the checker reads it; one that isn't linear has room of `level`."""
        curved = self.bound.figure == INTERMEDIATE_DIFFERENTIAL
        tolerance = None if self.bound.side == "both" else self.bound.tolerance
        return {
            "k": self.k,
            "of": KINDS[self.bound.figure],
            "at": list(self.parts),
            "least": None if self.low == -inf else self.low * self.unit,
            "most": None if self.high == inf else self.high * self.unit,
            "tolerance": None if tolerance is None else tolerance * self.unit,
            "level": level if curved else None,
        }


def class_limits(k: int, linear_map: LinearMap, missed: float) -> Iterator[ClassLimit]:
    """Yield the bounds of class `k` that the checker knows; the weight may be `missed`, g.

    Others are left out, which can only make room.
    """
    for bound in linear_map.bounds:
        kept = bound.figure == WEIGHT if bound.side == "both" else bound.held(linear_map)
        if kept and bound.figure in KINDS:
            of = bound.of if isinstance(bound.of, tuple) else (bound.of,)
            parts = () if bound.of is None else tuple(linear_map.places[part] for part in of)
            off = missed if bound.side == "both" else 0.0
            unit = linear_map.arm if bound.figure == TOP_WEIGHT else 1.0
            yield ClassLimit(k, bound, bound.low - off, bound.high + off, parts, unit)


def ball_data(linear_map: LinearMap) -> dict[str, Any]:
    """Return a weight class as drawn, as the checker reads it."""
    moments, ball = linear_map.moments, float(np.sum(linear_map.volumes))
    radius = linear_map.radius
    return {
        "radius": radius,
        "aligned": linear_map.aligned,
        "errors": [ROUNDING * ball * radius**order for order in range(3)],
        "parts": [part.name for part in linear_map.parts],
        "moments": [_features(J, linear_map) for J in moments],
    }


def _features(J: Array, linear_map: LinearMap) -> list[float]:
    """Return the moments of a part; what is 0 or alike by its symmetry is exactly that."""
    values = {of: float(J[at]) for of, at in zip(FEATURES, PLACES, strict=True)}
    if linear_map.symmetric:
        values["xx"] = values["yy"] = (values["xx"] + values["yy"]) / 2.0
    if linear_map.aligned:
        values = {of: value if of in ON_AXIS else 0.0 for of, value in values.items()}
    return list(values.values())


def question_data(known: Known, level: float) -> dict[str, Any]:
    """Return the question of an outer relaxation, with room of `level`, as the checker reads it."""
    columns, (least, most) = known.lineup.columns, known.offset
    return {
        "balls": [linear_map.label for linear_map in known.maps],
        "columns": [places.tolist() for places in columns.poured],
        "densities": known.densities.tolist(),
        "limits": [limit.data(known.level) for limit in known.limits],
        "about_cg": [linear_map.about == "cg" for linear_map in known.maps],
        "figures": [[span.low, span.high] for span in known.spans],
        "off": known.tolerances,
        "asked": known.asked,
        "offset": [least, None if most == inf else most],
        "level": level,
        **({"steps": {str(j): step for j, step in known.steps.items()}} if known.steps else {}),
    }
