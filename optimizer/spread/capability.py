"""Process capability of a figure that is normally distributed (ISO 22514-2; from memory).

Figures of a process are told only of one that was measured: see `Distribution.measured`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, sqrt


@dataclass(frozen=True)
class Capability:
    """A process against two limits, in its own unit; a limit that isn't there is infinite.

    `cp` is how often six standard deviations fit between the limits, `cpk` how often three fit
    between the mean and the nearer limit, and `outside` the share beyond either.
    """

    cp: float
    cpk: float
    outside: float


def capability(mean: float, sd: float, low: float, high: float) -> Capability:
    """Return the capability of a normal process. Its `sd` must be more than 0."""
    below, above = (mean - low) / sd, (high - mean) / sd
    outside = (erfc(below / sqrt(2.0)) + erfc(above / sqrt(2.0))) / 2.0
    return Capability((high - low) / (6.0 * sd), min(below, above) / 3.0, outside)
