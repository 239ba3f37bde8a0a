"""Exact numbers, and forms: sums of what is linear in the densities.

Units are cm, g and g/cm³. A ball's features are its mass and the first and second moments of its
mass about its centre: they are linear in its densities. All else is a form over features.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import isfinite
from typing import TypeAlias

FEATURES = ("m", "x", "y", "z", "xx", "yy", "zz", "xy", "xz", "yz")
"""Mass, first moments, second moments, in the order in which a file gives them."""
ON_AXIS = ("m", "z", "xx", "yy", "zz")
"""Those that don't vanish where every part stands on the pin axis."""
MOST = 10**15
"""An integer that is as good as a double."""

Feature: TypeAlias = tuple[str, int]
"""What a form is over: a feature of a weight class (its number), a density, p or a shared RG²."""
Form: TypeAlias = Mapping[Feature, Fraction]
"""A sum of features, each times a number."""
Range: TypeAlias = tuple[Fraction, Fraction]
Direction: TypeAlias = tuple[Fraction, Fraction, Fraction]
"""Along a line; its length doesn't matter where this isn't said."""

ZERO, ONE = Fraction(0), Fraction(1)
X, Y, Z = AXES = ((ONE, ZERO, ZERO), (ZERO, ONE, ZERO), (ZERO, ZERO, ONE))
LOW, MIDDLE, HIGH = 0, 1, 2
"""The places of axes by their RG."""


class NotProven(ValueError):  # noqa: N818 - it says what it is
    """What a proof claims doesn't follow from what it gives; the text says where."""


def exact(number: object) -> Fraction:
    """Return a number of the file as it is written. Raises NotProven for what is none."""
    return number if isinstance(number, Fraction) else Fraction(repr(_number(number)))


def double(number: object) -> Fraction:
    """Return the double that a number of the file stands for: quicker, where either will do."""
    return number if isinstance(number, Fraction) else Fraction(_number(number))


def _number(number: object) -> float | int:
    if isinstance(number, float) and isfinite(number):
        return number
    if isinstance(number, int) and not isinstance(number, bool) and abs(number) <= MOST:
        return number
    raise NotProven(f"{str(number)[:40]!r} is not a number")


def positive(number: object) -> Fraction:
    """Return a number of the file that isn't negative."""
    if (found := exact(number)) < 0:
        raise NotProven(f"{float(found):g} is below zero")
    return found


def place(number: object, count: int) -> int:
    """Return a place among so many, from 0 on: never one counted from the end."""
    if type(number) is not int or not 0 <= number < count:
        raise NotProven(f"{str(number)[:40]!r} is not a place among {count}")
    return number


def truth(value: object) -> bool:
    """Return true or false as the file has it."""
    if type(value) is not bool:
        raise NotProven(f"{str(value)[:40]!r} is neither true nor false")
    return value


def span(pair: Iterable[object]) -> Range:
    """Return a range of the file."""
    low, high = (exact(end) for end in pair)
    if low > high:
        raise NotProven(f"a range from {float(low):g} down to {float(high):g}")
    return low, high


def plus(*terms: tuple[Fraction, Form]) -> Form:
    """Return a sum of forms, each times a number."""
    total: dict[Feature, Fraction] = {}
    for factor, form in terms:
        for feature, share in form.items():
            total[feature] = total.get(feature, ZERO) + factor * share
    return total


def mass(k: int) -> Form:
    """Return the mass of weight class `k`."""
    return {("m", k): ONE}


def first(k: int, n: Direction) -> Form:
    """Return the first moment along `n`, times its length."""
    return {(of, k): share for of, share in zip("xyz", n, strict=True) if share}


def inertia(k: int, n: Direction) -> Form:
    """Return the moment of inertia about the line along `n` through the centre, times |n|²."""
    square = sum((share * share for share in n), ZERO)
    form = {(2 * of, k): square - share * share for of, share in zip("xyz", n, strict=True)}
    form |= {("xy", k): -2 * n[0] * n[1], ("xz", k): -2 * n[0] * n[2], ("yz", k): -2 * n[1] * n[2]}
    return {feature: share for feature, share in form.items() if share}


def p(k: int) -> Form:
    """Return |F|²/m of class `k`."""
    return {("p", k): ONE}


def shared(role: int) -> Form:
    """Return the square of an RG that the line shares."""
    return {("shared", role): ONE}
