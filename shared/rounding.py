"""Rounding as a sheet states it: ASTM E29's rounding method, digits fixed per column.

A float is taken as the shortest decimal that stands for it, then rounded half to even.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal


def rounded(value: float | Decimal, digits: int) -> Decimal:
    """Return `value` rounded to `digits` decimals, half to even; zero has no sign.

    >>> rounded(0.125, 2), rounded(0.375, 2), rounded(-0.0001, 2)
    (Decimal('0.12'), Decimal('0.38'), Decimal('0.00'))
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    return exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN) + Decimal(0)


def fixed(value: float | Decimal, digits: int) -> str:
    """Return `value` as text with `digits` decimals.

    >>> fixed(15.8996, 3), fixed(-0.00004, 4)
    ('15.900', '0.0000')
    """
    return f"{rounded(value, digits):f}"
