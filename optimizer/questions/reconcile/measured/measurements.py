"""What is measured of a ball: the kinds of measurements, their units, and how well they repeat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.scenario import Scenario
from optimizer.scenario.text.gauge_text import GaugesText
from shared.units import FILE_LENGTHS, INCH, OUNCE, POUND

Quantity: TypeAlias = Literal["mass", "rg", "length", "imbalance", "period"]

MASSES: Final = {"g": 1.0, "kg": 1000.0, "oz": OUNCE, "lb": POUND}
UNITS: Final[Mapping[Quantity, Mapping[str, float]]] = {
    "mass": MASSES,
    "rg": {unit.name: unit.size for unit in FILE_LENGTHS},
    "length": {unit.name: unit.size for unit in FILE_LENGTHS},
    "imbalance": {"oz": OUNCE, "g": 1.0},
    "period": {"s": 1.0},
}
"""The units that a file may use, in ours: g, cm, s."""


@dataclass(frozen=True)
class Kind:
    """A kind of measurement: the gauge (a key of [gauges]) that reads it, and its quantity."""

    name: str
    gauge: str
    quantity: Quantity


KINDS: Final[Mapping[str, Kind]] = {
    kind.name: kind
    for kind in (
        Kind("casting", "casting", "mass"),
        Kind("weight", "weight", "mass"),
        Kind("low rg", "rg", "rg"),
        Kind("intermediate rg", "rg", "rg"),
        Kind("high rg", "rg", "rg"),
        Kind("period low", "period", "period"),
        Kind("period intermediate", "period", "period"),
        Kind("period high", "period", "period"),
        Kind("differential", "differential", "rg"),
        Kind("intermediate differential", "differential", "rg"),
        Kind("top weight", "top_weight", "imbalance"),
        Kind("diameter", "diameter", "length"),
    )
}
"""By name as in a file; in the order of a template."""
FIGURES: Final[Mapping[str, Kind]] = {
    name: kind for name, kind in KINDS.items() if kind.gauge in ("weight", "rg", "differential")
} | {"top weight": KINDS["top weight"], "cg offset": Kind("CG offset", "", "length")}
"""The figures that are told of a ball, as kinds of measurements; no gauge reads the last."""
AXES: Final = ("low", "intermediate", "high")
"""The axes, in the order of their radii of gyration."""

ASSUMED: Final[Mapping[str, float]] = {
    "casting": 1.0,
    "weight": 0.005 * POUND,
    "rg": 0.002 * INCH,
    "differential": 0.001 * INCH,
    "period": 0.002,
    "top_weight": 0.1 * OUNCE,
    "diameter": 0.001 * INCH,
}
"""The standard deviation of a reading where the shop says nothing (common practice, no source)."""
ROOT12: Final = 12.0**0.5
"""A step of a display over the standard deviation of what rounding to it leaves."""


@dataclass(frozen=True)
class Reading:
    """What a gauge's single reading repeats within, as one standard deviation, and its cost.

    In g, cm or s; `assumed` where the scenario doesn't say.
    """

    sd: float
    assumed: bool
    cost: float | None


def reading(scenario: Scenario, gauge: str) -> Reading:
    """Return how well one of the gauges repeats: assumed, no better than the scale's display."""
    known = getattr(scenario.text.gauges or GaugesText(), gauge)
    if known is None:
        shop = scenario.text.foundry
        step = shop.scale if shop and gauge == "casting" else None
        return Reading(max(ASSUMED[gauge], (step or 0.0) / ROOT12), assumed=True, cost=None)
    size = OUNCE if gauge == "top_weight" else 1.0
    return Reading(known.sd * size, assumed=False, cost=known.cost)


def usual(scenario: Scenario, kind: Kind) -> bool:
    """Whether the shop reads this: RGs by its pendulum if it has one; intermediate if asked for."""
    swings = bool(scenario.text.gauges and scenario.text.gauges.pendulum)
    if "intermediate" in kind.name and INTERMEDIATE_DIFFERENTIAL not in scenario.target:
        return False
    if kind.name in {f"{axis} rg" for axis in AXES}:
        return not swings
    return swings or kind.quantity != "period"


@dataclass(frozen=True)
class Measurement:
    """One reading of a ball or, `of` a part, of its casting: `value` in g, cm, g (imbalance) or s.

    `sd` is the gauge's, `written` the value with its unit as it stands in the file at `line`;
    `batch` names what the part, or the whole ball, was poured from.
    """

    line: int
    ball: str
    label: str
    kind: Kind
    of: str | None
    value: float
    sd: float
    written: str
    batch: str | None = None

    @property
    def name(self) -> str:
        """What it is: "low rg", "casting of keel"."""
        return f"{self.kind.name} of {self.of}" if self.of else self.kind.name
