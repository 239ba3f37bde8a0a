"""Capability figures of a weight: only where all that moves a figure was measured."""

from __future__ import annotations

from optimizer.questions.tolerance.gathered import WeightSpread
from optimizer.spread.capability import Capability, capability


def capabilities(weight: WeightSpread) -> dict[str, Capability]:
    """Return the capability of each figure that the target bounds, by its simulated mean and sd.

    Left out is a figure that an input moves whose spread was assumed or only stated.
    """
    found = {}
    for band in weight.bands:
        moved = zip(weight.model.inputs, weight.shares[band.figure], strict=True)
        laws = [input_.law for input_, share in moved if share > 0.0]
        if band.rule is None and laws and all(law.measured for law in laws):
            moments = weight.simulated[band.figure]
            found[band.figure] = capability(moments.mean, moments.sd, band.low, band.high)
    return found
