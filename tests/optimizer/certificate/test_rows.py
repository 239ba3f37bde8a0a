"""No ball that meets a question lies outside any row of any box that holds it.

Balls are the oracle's, boxes are drawn around them by random trees, and rows have parameters at
random: also such as no prover uses, and such as are none.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from known_balls import ROUNDING, Known, drawn, fraction
from oracles.balls import weight_and_radii
from whole import in_shares

from optimizer.certificate.box import Box
from optimizer.certificate.claims import MALFORMED
from optimizer.certificate.forms import NotProven
from optimizer.certificate.question import Limit
from optimizer.certificate.rows import NAMES, Rows
from optimizer.certificate.tree import ORDERS, leaves, most_of
from optimizer.certificate.turned_rows import TurnedRows

SHARES, EACH = 25, 4000
HERE = [kind for kind in NAMES if not hasattr(TurnedRows, f"row_{kind}")]
"""The others are of boxes whose axes turn: see `test_turned_rows`."""


def _tree(random: Random, known: Known, depth: int = 0) -> list:
    """A tree of boxes with cuts at random; some leave something out, or are none."""
    if depth >= 4:
        return ["rows"]
    kind = random.choice(("c", "order", "order", "figure", "density", "line"))
    if kind == "order":
        orders = [list(order) for order in ORDERS]
        if random.random() < 0.3:
            orders = [[2, 0, 1], [0, 1, 2]]
        elif random.random() < 0.03:
            del orders[random.randrange(6)]
        k = _place(random, len(known.c))
        return ["order", k, *([order, _tree(random, known, depth + 2)] for order in orders)]
    below, above = (_tree(random, known, depth + 1) for _ in range(2))
    if kind == "line":
        slope, (low, apart, _) = fraction(random.uniform(-2, 2), 3), known.figures
        return ["line", slope, _near(random, apart - slope * low), below, above]
    if kind == "figure":
        i = _place(random, 3)
        return ["figure", i, _near(random, known.figures[i % 3]), below, above]
    values = known.c if kind == "c" else known.densities
    at = _place(random, len(values))
    a = b = _near(random, values[at % len(values)])
    if random.random() < 0.08:
        b = _near(random, a)
    return [kind, at, a, b, below, above]


def _place(random: Random, count: int) -> int:
    """A place among so many, or, at times, one from the end or beyond it."""
    return random.choice((-1, -2, count)) if random.random() < 0.02 else random.randrange(count)


def _near(random: Random, x: Fraction) -> Fraction:
    return x + fraction(random.choice((0.0, 1e-6, 0.1, 3.0)) * random.uniform(-1, 1))


def _radii(known: Known) -> tuple[Fraction, Fraction, Fraction]:
    """The RGs that the line shares."""
    low, apart, inner = known.figures
    return low, max(low, low + apart - inner), low + apart


def _at(random: Random, known: Known, kind: str) -> Fraction:
    """A point for a tangent: near to a ball's own, or anywhere."""
    if random.random() < 0.1:
        return fraction(random.choice((0.0, -1.0, 1e-9, 1e6)))
    return _near(random, random.choice(known.c if kind == "p_above" else _radii(known)))


def _parameters(random: Random, known: Known, box: Box, kind: str) -> list:
    """Parameters of a row: those of the sharpest, or any, of which some are no places at all."""
    k = random.randrange(len(known.c))
    if kind in ("over", "under") and box.orders[k] and random.random() < 0.5:
        role = random.randrange(3)
        return [k, box.orders[k][role], role, _radii(known)[role], random.randrange(2)]
    counts = {"i": max(1, len(known.question.limits)), "k": len(known.c), "axis": 3, "role": 3}
    return [
        _at(random, known, kind) if name == "at" else _place(random, counts.get(name, 2))
        for name in NAMES[kind]
    ]


def _checked(known: Known, random: Random, tried: Counter) -> None:
    """Check a ball against rows of the boxes that hold it."""
    question = known.question
    try:
        every = [box for box, _ in leaves(question, _tree(random, known))]
        tried["tree"] += 1
    except MALFORMED:
        every = [box for box, _ in leaves(question, ["rows"])]
    holding = [box for box in every if known.inside(box)]
    assert holding, ("the boxes don't cover their own", known)
    box = random.choice(holding)
    rows, total = Rows(question, box), {}
    for _ in range(6):
        lines = ["below_line"] * 6 * bool(box.below) + ["above_line"] * 6 * bool(box.above)
        kind = random.choice([*HERE, *lines])
        try:
            form, least, most = rows.row(kind, *_parameters(random, known, box, kind))
        except MALFORMED:
            continue
        value = sum((share * known.value[of] for of, share in form.items()), Fraction(0))
        scale = sum((abs(share * known.value[of]) for of, share in form.items()), Fraction(1))
        assert least is None or value >= least - ROUNDING * scale, (kind, known)
        assert most is None or value <= most + ROUNDING * scale, (kind, known)
        tried[kind] += 1
        y = fraction(random.uniform(-1, 1), 3)
        for of, share in form.items():
            total[of] = total.get(of, Fraction(0)) + y * share
    if random.random() < 0.3:
        alone = [*known.value, *[("p", k) for k in range(len(known.c))] * 20]
        total = {random.choice(alone): Fraction(random.choice((-1, 1)))}
    if total:
        value = sum((share * known.value[of] for of, share in total.items()), Fraction(0))
        scale = sum((abs(share * known.value[of]) for of, share in total.items()), Fraction(1))
        assert most_of(question, box, total) >= value - ROUNDING * scale, known
        tried["most"] += 1


@in_shares(SHARES)
def test_no_ball_that_meets_a_question_lies_outside_a_row(share):
    """100,000 balls in all."""
    tried = Counter[str]()
    for number in range(EACH):
        random = Random(f"{share.first} {number}")  # noqa: S311 - the same again
        _checked(drawn(random), random, tried)
    assert set(tried) == {*HERE, "tree", "most"}
    assert min(tried.values()) > EACH / 100, tried


def test_the_balls_are_those_of_the_oracle():
    """Their RGs, exact but for the roots, are those of numpy's eigenvalues."""
    for number in range(200):
        known = drawn(Random(number))  # noqa: S311 - the same again
        if not known.question.balls[0].aligned:
            continue
        about = "cg" if known.question.about_cg[0] else "centre"
        made = [float(x) for x in known.densities[: len(known.solids)]]
        mass, radii, cg = weight_and_radii(known.solids, made, about)
        assert float(known.value["m", 0]) == pytest.approx(mass, rel=1e-10)
        assert float(known.c[0]) == pytest.approx(cg[2], abs=1e-10)
        own = np.sqrt(np.sort([float(square) for square in known.squares[0]]))
        assert own == pytest.approx(radii, abs=1e-9)


def _known(wanted) -> Known:
    """The first ball drawn of which something is so."""
    drawings = (drawn(Random(number)) for number in range(1000))  # noqa: S311 - the same again
    return next(known for known in drawings if wanted(known))


@pytest.mark.parametrize("aligned", [True, False])
def test_near_to_the_centre_along_the_pin_is_near_to_it_only_on_the_pin(aligned):
    """A gap about the centre, no wider than an asked CG offset, leaves out nothing but there."""
    known = _known(lambda known: known.question.balls[0].aligned is aligned)
    question = replace(known.question, offset=(Fraction(1, 2), None))
    tree = ["c", 0, -0.5, 0.5, ["rows"], ["rows"]]
    if aligned:
        assert len(list(leaves(question, tree))) == 2
    else:
        with pytest.raises(NotProven, match="places of a CG"):
            list(leaves(question, tree))
    with pytest.raises(NotProven, match="places of a CG"):
        list(leaves(question, ["c", 0, -0.5, 0.51, ["rows"], ["rows"]]))


def test_a_limit_with_less_room_than_none_lets_the_mass_off_its_ends():
    """At a level below 0 a limit is wider, and so is the range of masses that rows go by."""
    known = _known(lambda known: len(known.c) == 1)
    limit = Limit(0, "mass", (), Fraction(7000), Fraction(7000), Fraction(10), None)
    for level, ends in ((0, (7000, 7000)), (-2, (6980, 7020))):
        question = replace(known.question, limits=(limit,), level=Fraction(level))
        assert question.masses == (ends,)


def test_densities_between_two_steps_may_be_left_out():
    known = _known(bool)
    question = replace(known.question, steps={0: Fraction(1, 100)})
    assert len(list(leaves(question, ["density", 0, 1.04, 1.05, ["rows"], ["rows"]]))) == 2
    for a, b, j in ((1.04, 1.06, 0), (1.045, 1.055, 0), (1.04, 1.05, 1)):
        with pytest.raises(NotProven, match="densities that aren't looked at"):
            list(leaves(question, ["density", j, a, b, ["rows"], ["rows"]]))


def test_the_most_of_p_is_that_of_the_heaviest_ball_with_its_cg_farthest_out():
    """Where that ball is the one that is known."""
    known = _known(lambda known: known.c[0] and known.question.balls[0].aligned)
    mass, c = known.value["m", 0], known.c[0]
    limit = Limit(0, "mass", (), mass / 2, mass, None, None)
    question = replace(known.question, limits=(limit,), level=Fraction(0))
    box = Box.whole(question).with_c(0, (c - abs(c) / 2, c) if c > 0 else (c, c + abs(c) / 2))
    assert most_of(question, box, {("p", 0): Fraction(3)}) == 3 * known.value["p", 0]
    assert most_of(question, box, {("p", 0): Fraction(-3)}) == 0


def test_a_density_is_no_step_above_itself():
    """Of two parts that are poured at one density."""
    known = _known(lambda known: len(known.c) == 1)
    limit = Limit(0, "step", (0, 1), Fraction(0), None, None, None)
    columns = ((0,) * len(known.solids),)
    question = replace(known.question, columns=columns, limits=(limit,))
    form, _, _ = Rows(question, Box.whole(question)).row("limit", 0)
    assert form == {("density", 0): 0}
