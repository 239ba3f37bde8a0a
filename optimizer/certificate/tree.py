"""Trees of boxes: a node covers its box by smaller ones, a leaf shows that its box is empty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import permutations
from typing import Any, NamedTuple, TypeAlias

from optimizer.certificate.box import Box
from optimizer.certificate.forms import ZERO, Feature, NotProven, Range, exact
from optimizer.certificate.question import Question
from optimizer.certificate.rows import Rows

Node: TypeAlias = Sequence[Any]

ORDERS = tuple(permutations((0, 1, 2)))
ALIKE = ((2, 0, 1), (0, 1, 2))
"""The orders of x, y and z by RG where x and y are the same: the pin axis is low, or it is high."""


class Checked(NamedTuple):
    """What was checked: how many boxes are empty, and by how many rows.

    `least` is the smallest amount by which the rows of a box contradict each other.
    """

    boxes: int
    rows: int
    least: Fraction


def check_empty(question: Question, tree: Node) -> Checked:
    """Check that no line-up meets a question. Raises NotProven where a tree doesn't show it."""
    boxes = rows = 0
    least: Fraction | None = None
    for box, node in leaves(question, tree):
        left = contradiction(question, box, node)
        boxes, rows = boxes + 1, rows + len(node) - 1
        if left <= 0:
            raise NotProven(f"box {boxes} isn't shown to be empty, by {float(-left):.3g}")
        least = left if least is None else min(least, left)
    if least is None:
        raise NotProven("a proof without a box")
    return Checked(boxes, rows, least)


def leaves(question: Question, tree: Node) -> Iterator[tuple[Box, Node]]:
    """Yield the leaves of a tree, which together cover the whole box of a question.

    A leaf is ["rows", [kind, …, multiplier], …]. A node is ["c", k, a, b, below, above] for c of
    class k at most a or at least b, ["order", k, [order, tree], …], ["figure", i, at, below, above]
    or ["density", j, a, b, below, above]. Raises NotProven where it leaves something out.
    """
    waiting = [(Box.whole(question), tree)]
    while waiting:
        box, node = waiting.pop()
        if node and node[0] == "rows":
            yield box, node
        else:
            waiting += _parts(question, box, node)


def _parts(question: Question, box: Box, node: Node) -> Iterator[tuple[Box, Any]]:
    """Yield the boxes of a node, which cover its own."""
    kind, at, *rest = node or ["nothing", 0]
    if kind == "order":
        every = set(ALIKE if question.balls[at].symmetric else ORDERS)
        for order, part in rest:
            every.discard(tuple(order))
            yield box.with_order(at, tuple(order)), part
        if every:
            raise NotProven("an order of the axes that isn't looked at")
        return
    if kind == "figure":
        cut, below, above = exact(rest[0]), rest[1], rest[2]
        ends = _cut(box.figures[at], cut, cut)
        yield box.with_figure(at, ends[0]), below
        yield box.with_figure(at, ends[1]), above
        return
    a, b, below, above = exact(rest[0]), exact(rest[1]), rest[2], rest[3]
    if kind == "c":
        if a < b and max(-a, b) > question.offset[0]:
            raise NotProven("places of a CG that aren't looked at")
        ends = _cut(box.c[at], a, b)
        yield box.with_c(at, ends[0]), below
        yield box.with_c(at, ends[1]), above
    elif kind == "density":
        step = question.steps.get(at)
        if a < b and (step is None or a % step or b != a + step):
            raise NotProven("densities that aren't looked at")
        ends = _cut(box.densities[at], a, b)
        yield box.with_density(at, ends[0]), below
        yield box.with_density(at, ends[1]), above
    else:
        raise NotProven(f"{str(kind)[:40]!r} is no kind of node")


def _cut(ends: Range, a: Fraction, b: Fraction) -> tuple[Range, Range]:
    if a > b:
        a, b = b, a  # they overlap, which covers more
    return (ends[0], min(ends[1], a)), (max(ends[0], b), ends[1])


def contradiction(question: Question, box: Box, leaf: Node) -> Fraction:
    """Return by how much the rows of a leaf, added up, ask more than any line-up of the box has.

    Above 0, the box is empty (weak duality): a multiplier's sign says which end of its row counts.
    """
    rows, total, asked = Rows(question, box), dict[Feature, Fraction](), ZERO
    for *name, multiplier in leaf[1:]:
        y = exact(multiplier)
        form, least, most = rows.row(*name)
        end = least if y > 0 else most
        if y and end is None:
            raise NotProven(f"a row {name[0]!r} with a multiplier for the end that it doesn't have")
        asked += y * (end or ZERO)
        for feature, share in form.items():
            total[feature] = total.get(feature, ZERO) + y * share
    return asked - most_of(question, box, total)


def most_of(question: Question, box: Box, total: dict[Feature, Fraction]) -> Fraction:
    """Return an upper bound on a form over the box, whatever its moments within their errors."""
    slopes = [total.get(("density", j), ZERO) for j in range(len(box.densities))]
    for k, (ball, places) in enumerate(zip(question.balls, question.columns, strict=True)):
        own = [(of, total[of, k]) for of in ball.errors if total.get((of, k))]
        error = sum((abs(share) * ball.errors[of] for of, share in own), ZERO)
        for j, part in zip(places, ball.parts, strict=True):
            slopes[j] += sum((share * part[of] for of, share in own), error)
    most = sum((max(s * a, s * b) for s, (a, b) in zip(slopes, box.densities, strict=True)), ZERO)
    for k, ball in enumerate(question.balls):
        a, b = box.c[k] if ball.aligned else Box.whole(question).c[k]
        share = total.get(("p", k), ZERO)
        most += max(ZERO, share * max(a * a, b * b) * question.masses[k][1])
    for role, (a, b) in enumerate(box.shared):
        share = total.get(("shared", role), ZERO)
        most += max(share * a * a, share * b * b)
    return most
