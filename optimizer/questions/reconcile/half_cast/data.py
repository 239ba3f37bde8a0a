"""What to do with a ball that is half cast, as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.paper.quantities import FIXED_UNITS
from optimizer.questions.line_up.data import number
from optimizer.questions.reconcile.half_cast.half_cast import HalfCast
from optimizer.spread.simulation import Share


def half_cast_data(found: HalfCast) -> dict[str, Any]:
    """Return it as JSON types."""
    suits = found.suits
    return {
        "label": found.label,
        "verdict": found.one.status,
        "scrap": found.scrap,
        "cast": [
            {
                "part": cast.part,
                "aimed_g_cm3": number(cast.aimed),
                "density_g_cm3": number(cast.density),
                "mass_g": None if cast.mass is None else number(cast.mass),
                "given": cast.given,
            }
            for cast in found.casts
        ],
        "pours": [
            {
                "part": pour.part,
                "aimed_g_cm3": number(pour.aimed),
                "set_g_cm3": number(pour.set),
                "on_step_g_cm3": number(pour.poured) if found.stepped else None,
                "mass_g": number(pour.mass),
            }
            for pour in found.pours
        ],
        "held": {part: list(group) for part, group in found.one.held.items()},
        "least_moved": found.one.possible and (found.stepped or found.one).least is not None,
        "moved_standard_deviations": number(found.one.moved),
        "figures": list(_figures_data(found)),
        "others": [
            {
                "label": other.label,
                "verdict": other.status,
                "moved_standard_deviations": number(other.moved),
            }
            for other in found.others
        ],
        "suits_part": found.last.part,
        "suits_g": suits and list(suits.grams),
        "suits_proven_beyond": suits and [suits.low.proven, suits.high.proven],
        "good_share": found.good and _share(found.good.poured),
        "good_share_as_scheduled": found.good and _share(found.good.scheduled),
        "doubtful": [cast.part for cast in found.doubtful],
    }


def _figures_data(found: HalfCast) -> Iterator[dict[str, Any]]:
    for told, left in zip(found.weight.deviations, found.scheduled.deviations, strict=True):
        unit, size = FIXED_UNITS[told.figure.quantity]
        off = told.tolerances
        yield {
            "figure": told.figure.key,
            "unit": unit,
            "target": number(told.asked / size),
            "value": number(told.measured / size),
            "off_tolerances": None if off is None else number(off),
            "as_scheduled": number(left.measured / size),
        }


def _share(share: Share) -> dict[str, Any]:
    return {"value": number(share.value), "interval": [number(share.low), number(share.high)]}
