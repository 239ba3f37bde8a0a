"""Trees of boxes: a node covers its box by smaller ones, a leaf shows that its box is empty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from typing import Any, NamedTuple, TypeAlias

from optimizer.certificate.box import Box
from optimizer.certificate.curves import Line
from optimizer.certificate.forms import ZERO, Feature, NotProven, Range, double, exact, place, span
from optimizer.certificate.question import Question
from optimizer.certificate.rows import Rows
from optimizer.certificate.turned import Cone, Turned, frames_of

Node: TypeAlias = Sequence[Any]

ORDERS = tuple(permutations((0, 1, 2)))
ALIKE = ((2, 0, 1), (0, 1, 2))
"""The orders of x, y and z by RG where x and y are the same: the pin axis is low, or it is high."""


class Region(NamedTuple):
    """A region of the plane: low RGs, and differentials between two lines (slope, constant)."""

    rg: Range
    least: Line
    most: Line

    @classmethod
    def read(cls, data: Mapping[str, Any]) -> Region:
        """Return a region of a file."""
        lines = (
            (exact(slope), exact(constant)) for slope, constant in (data["least"], data["most"])
        )
        return cls(span(data["rg"]), *lines)

    def holds(self, box: Box) -> bool:
        """Whether every line-up of a box is in it."""
        low, high = box.figures[0]
        return (
            self.rg[0] <= low
            and high <= self.rg[1]
            and box.above == self.least
            and box.below == self.most
        )


class Checked(NamedTuple):
    """What was checked: how many boxes are empty, and by how many rows.

    `least` is the smallest amount by which the rows of a box contradict each other.
    """

    boxes: int
    rows: int
    least: Fraction


def check_empty(question: Question, tree: Node, regions: Sequence[Region] = ()) -> Checked:
    """Check that no line-up meets a question, but for some in these regions of the plane.

    Raises NotProven where a tree doesn't show it.
    """
    boxes = rows = 0
    least: Fraction | None = None
    for box, node in leaves(question, tree):
        if node[0] == "within":
            if not regions[place(node[1], len(regions))].holds(box):
                raise NotProven("a box that isn't within its region")
            continue
        if node[0] == "void":
            if not box.void:
                raise NotProven("a box that holds something")
            continue
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

    A leaf is ["rows", [kind, …, multiplier], …], ["within", i] for what a region may hold, or
    ["void"] where a range of its box holds nothing. A node is ["c", k, a, b, below, above] for c of
    class k at most a or at least b, ["order", k, [order, tree], …], ["figure", i, at, below,
    above], ["line", slope, constant, below, above] for the differential over the low RG, or
    ["density", j, a, b, below, above]. Raises NotProven where it leaves something out.
    """
    waiting = [(Box.whole(question), tree)]
    while waiting:
        box, node = waiting.pop()
        if node and node[0] in ("rows", "within", "void"):
            yield box, node
        else:
            waiting += _parts(question, box, node)


def _parts(question: Question, box: Box, node: Node) -> Iterator[tuple[Box, Any]]:
    """Yield the boxes of a node, which cover its own."""
    kind, at, *rest = node or ["nothing", 0]
    if kind in ("frames", "place", "product", "cone"):
        yield from _turned(question, box, node)
        return
    if kind != "line":
        places = {"figure": len(box.figures), "density": len(box.densities)}
        at = place(at, places.get(kind, len(box.c)))
    if kind == "order":
        yield from _orders(question, box, at, rest)
        return
    if kind == "line":
        line = exact(at), exact(rest[0])
        yield box.with_line(line, below=True), rest[1]
        yield box.with_line(line, below=False), rest[2]
        return
    if kind == "figure":
        cut, below, above = exact(rest[0]), rest[1], rest[2]
        ends = _cut(box.figures[at], cut, cut)
        yield box.with_figure(at, ends[0]), below
        yield box.with_figure(at, ends[1]), above
        return
    a, b, below, above = exact(rest[0]), exact(rest[1]), rest[2], rest[3]
    if kind == "c":
        if a < b and (max(-a, b) > question.offset[0] or not question.balls[at].aligned):
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


def _orders(question: Question, box: Box, at: int, parts: Node) -> Iterator[tuple[Box, Any]]:
    """Yield the boxes of the orders of the axes of class `at`."""
    if box.turned is not None:
        raise NotProven("orders of axes that turn")
    every = set(ALIKE if question.balls[at].symmetric else ORDERS)
    for order, part in parts:
        every.discard(tuple(order))
        yield box.with_order(at, tuple(order)), part
    if every:
        raise NotProven("an order of the axes that isn't looked at")


def _turned(question: Question, box: Box, node: Node) -> Iterator[tuple[Box, Any]]:
    """Yield the boxes of a node of balls whose axes turn.

    ["frames", frames, tree], before all others; ["place", k, axis, at, below, above] for c along x,
    y or z; ["product", k, pair, at, below, above]; ["cone", k, end, [cone, tree], …].
    """
    count, kind = len(question.balls), node[0]
    if kind == "frames":
        yield box.with_frames(question, frames_of(node[1], count)), node[2]
        return
    turned, k = box.turned, place(node[1], count)
    if turned is None:
        raise NotProven("axes that turn, before there are frames")
    if kind == "cone":
        cones, parts = [Cone.read(cone) for cone, _ in node[3:]], [part for _, part in node[3:]]
        boxes: Iterable[Turned] = turned.coned(2 * k + place(node[2], 2), cones)
    else:
        name, parts = "places" if kind == "place" else "products", list(node[4:6])
        boxes = turned.cut(name, 3 * k + place(node[2], 3), node[3])
    for part, tree in zip(boxes, parts, strict=True):
        yield replace(box, turned=part), tree


def _cut(ends: Range, a: Fraction, b: Fraction) -> tuple[Range, Range]:
    """Return what is at most `a` and at least `b` of a range: they may overlap."""
    return (ends[0], min(ends[1], a)), (max(ends[0], b), ends[1])


def contradiction(question: Question, box: Box, leaf: Node) -> Fraction:
    """Return by how much the rows of a leaf, added up, ask more than any line-up of the box has.

    Above 0, the box is empty (weak duality): a multiplier's sign says which end of its row counts.
    """
    rows, total, asked = Rows(question, box), dict[Feature, Fraction](), ZERO
    for *name, multiplier in leaf[1:]:
        y = double(multiplier)
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
    for feature, (a, b) in Rows(question, box).columns():
        share = total.get(feature, ZERO)
        most += max(share * a, share * b)
    return most
