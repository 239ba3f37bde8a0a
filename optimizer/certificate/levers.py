"""Forms over the levers of a ball, P = F Fᵀ ÷ m, and over its second moments."""

from __future__ import annotations

from fractions import Fraction

from optimizer.certificate.forms import ONE, Direction, Form, X, Y, first, mass, plus


def lever(k: int, u: Direction, v: Direction) -> Form:
    """Return u·P v of class `k`."""
    (a, b, c), (d, e, f) = u, v
    form: dict[tuple[str, int], Fraction] = {
        ("pxx", k): a * d - c * f,
        ("pyy", k): b * e - c * f,
        ("pxy", k): a * e + b * d,
        ("pxz", k): a * f + c * d,
        ("pyz", k): b * f + c * e,
        ("p", k): c * f,
    }
    return {feature: share for feature, share in form.items() if share}


def second(k: int, u: Direction, v: Direction) -> Form:
    """Return u·S v of class `k`."""
    (a, b, c), (d, e, f) = u, v
    shares = (a * d, b * e, c * f, a * e + b * d, a * f + c * d, b * f + c * e)
    names = ("xx", "yy", "zz", "xy", "xz", "yz")
    return {(name, k): share for name, share in zip(names, shares, strict=True) if share}


def level(k: int) -> Form:
    """Return Pxx + Pyy of class `k`."""
    return plus((ONE, lever(k, X, X)), (ONE, lever(k, Y, Y)))


def factors(k: int, u: Direction, a: Fraction, v: Direction, b: Fraction) -> Form:
    """Return (u·F − a m)(v·F − b m) ÷ m."""
    return plus((ONE, lever(k, u, v)), (-b, first(k, u)), (-a, first(k, v)), (a * b, mass(k)))
