"""No ball whose axes turn lies outside a row, or a column's range, of a box that holds it.

Balls are the oracle's, their axes numpy's; frames, cones and ranges are drawn around them, sharp
ones too, and rows have parameters at random.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random

import numpy as np
import pytest
from known_balls import drawn, fraction
from whole import in_shares

from optimizer.certificate.box import Box
from optimizer.certificate.forms import FEATURES, NotProven
from optimizer.certificate.row import COUNTS, NUMBERS
from optimizer.certificate.rows import NAMES, Rows
from optimizer.certificate.turned import FACES, PAIRS, Cone, covered, frames_of
from optimizer.certificate.turned_rows import TurnedRows
from optimizer.lineup.proof.cones import frame_near

KINDS = [kind for kind in NAMES if hasattr(TurnedRows, f"row_{kind}")]
KINDS += ["in_order", "high_at_most", "high_at_least", "over", "under"]
ROUNDING = 1e-9
"""Relative to the size of what is added up: of numpy's eigenvectors."""
SHARES, EACH = 50, 200


def _columns(known, k):
    """Every column of a ball, in floats, with its axes (3, 3) as columns and its principal RGs."""
    of = {name: float(known.value[name, k]) for name in FEATURES}
    F, m = np.array([of[a] for a in "xyz"]), of["m"]
    S = np.array([[of["".join(sorted(a + b))] for b in "xyz"] for a in "xyz"])
    P = np.outer(F, F) / m
    own = S - P if known.question.about_cg[k] else S
    inertia, axes = np.linalg.eigh(np.trace(own) * np.eye(3) - own)
    of |= {f"p{a}{b}": P[i, j] for i, a in enumerate("xyz") for j, b in enumerate("xyz")}
    of |= {"p": float(np.trace(P)), "low": inertia[0], "high": inertia[2]}
    return of, F / m, axes, inertia, np.trace(own) * np.eye(3) - own


def _around(random, value, least=0.0):
    """A range that holds a number, with little room or much."""
    below, above = (random.choice((least, 1e-6, 0.05, 1.0)) * random.random() for _ in range(2))
    return fraction(value - below - 1e-11), fraction(value + above + 1e-11)


def _cone(random, frame, axis):
    """A cone round an axis, or None."""
    if random.random() < 0.2:
        return None
    along = np.linalg.solve(np.array(frame, dtype=float).T, axis)
    face = int(np.argmax(np.abs(along)))
    s, t = (float(along[(face + i) % 3] / along[face]) for i in (1, 2))
    return Cone(face, _around(random, s), _around(random, t))


def _turned(random, known, balls):
    """A box whose axes turn, that holds the balls."""
    frames = []
    for _, _, axes, _, _ in balls:
        any_axes = np.linalg.qr([[random.gauss(0, 1) for _ in "xyz"] for _ in "xyz"])[0]
        frames.append(frame_near(axes if random.random() < 0.7 else any_axes).tolist())
    box = Box.whole(known.question).with_frames(known.question, frames_of(frames, len(balls)))
    turned = box.turned
    cones, places, products = [], [], []
    for frame, (of, c, axes, _, inertia) in zip(turned.frames, balls, strict=True):
        cones += [_cone(random, frame, axes[:, column]) for column in (0, 2)]
        places += [_around(random, x) for x in c]
        e = np.array(frame, dtype=float)
        products += [_around(random, e[i] @ inertia @ e[j] / of["m"]) for i, j in PAIRS]
    ranges = {"cones": tuple(cones), "places": tuple(places), "products": tuple(products)}
    return replace(box, turned=replace(turned, **ranges))


def _asked(random, known, balls):
    """The question with the balls' own figures, about their principal axes, and the line's."""
    own = []
    for of, _, _, inertia, _ in balls:
        low, middle, high = np.sqrt(inertia / of["m"])
        own.append((low, high - low, high - middle))
    shared = own[0]
    off = tuple(fraction(1e-10 + max(abs(x[i] - shared[i]) for x in own)) for i in range(3))
    figures = tuple(
        (max(fraction(0.0), low), high) for low, high in (_around(random, x) for x in shared)
    )
    limits = tuple(limit for limit in known.question.limits if limit.of != "intermediate")
    question = replace(known.question, figures=figures, off=off, limits=limits)
    low, apart, inner = shared
    squares = {("shared", 0): low**2, ("shared", 2): (low + apart) ** 2}
    if question.asked:
        squares["shared", 1] = max(0.0, low + apart - inner) ** 2
    return replace(known, question=question), squares


def _parameters(random, known, kind, balls):
    k, values = random.randrange(len(balls)), []
    for name in NAMES[kind]:
        if name == "k":
            values.append(k)
        elif name == "i":
            values.append(random.randrange(max(1, len(known.question.limits))))
        elif name == "sign":
            values.append(random.choice((-1.0, 1.0)))
        elif name in NUMBERS:
            scale = {"top_least": balls[k][0]["m"], "p_square": 1.0}.get(kind, 6.4)
            values.append(random.uniform(-0.2, 1.2) * scale)
        else:
            values.append(random.randrange(COUNTS[name]))
    return values


@in_shares(SHARES)
def test_no_ball_lies_outside_a_row_of_axes_that_turn(share):
    """10,000 balls in all."""
    tried = Counter()
    for number in range(EACH):
        random = Random(f"turned {share.first} {number}")  # noqa: S311 - the same again
        known = drawn(random, "off axis") if random.random() < 0.8 else drawn(random)
        balls = [_columns(known, k) for k in range(len(known.c))]
        known, value = _asked(random, known, balls)
        box = _turned(random, known, balls)
        rows = Rows(known.question, box)
        value |= {(of, k): x for k, ball in enumerate(balls) for of, x in ball[0].items()}
        value |= {of: float(x) for of, x in known.value.items() if of[0] == "density"}
        for column, (low, high) in rows.columns():
            if column in value:
                room = ROUNDING * (1.0 + abs(value[column]))
                assert float(low) - room <= value[column] <= float(high) + room, (column, number)
        for _ in range(12):
            kind = random.choice(KINDS)
            try:
                form, least, _ = rows.row(kind, *_parameters(random, known, kind, balls))
            except NotProven:
                continue
            terms = [float(share) * value[of] for of, share in form.items()]
            room = ROUNDING * (1.0 + sum(map(abs, terms)))
            assert sum(terms) >= float(least) - room, (kind, number, share)
            tried[kind] += 1
    assert set(tried) >= set(KINDS) - {"far", "top_least", "mark_up", "mark_most", "mark_least"}


def test_cones_that_leave_directions_out_are_refused():
    whole = Cone(1)
    halves = [Cone(1, (fraction(-1), fraction(0))), Cone(1, (fraction(0), fraction(1)))]
    assert covered(None, FACES)
    assert covered(whole, halves)
    assert not covered(None, FACES[:2])
    assert not covered(whole, halves[:1])
    assert not covered(whole, [halves[0], Cone(1, (fraction(0.1), fraction(1)))])
    assert not covered(whole, [halves[0], Cone(2, (fraction(0), fraction(1)))])
    assert not covered(
        whole, [halves[0], Cone(1, (fraction(0), fraction(1)), (fraction(0), fraction(1)))]
    )


@pytest.mark.parametrize("wrong", [
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 1e-9, 1.0]],
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 2.0]],
    [[0.0, 0.0, 0.0]] * 3,
])  # fmt: skip
def test_frames_that_are_not_square_are_refused(wrong):
    with pytest.raises(NotProven):
        frames_of([wrong], 1)
