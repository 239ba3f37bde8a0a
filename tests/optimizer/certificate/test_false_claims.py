"""What is false is refused: 200 claims that no line-up meets a question which one meets.

In true files of proofs what is asked is moved to where a ball is, as numpy measures it; then the
proof is tampered with in every way that might get it through.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from itertools import chain
from random import Random

import numpy as np
import pytest
from fuzz import trees
from proofs import LINES, Json, asked, line_up, moved, own_figures, proofs, surely_meets

from optimizer.certificate.claims import Outcome, outcomes
from optimizer.certificate.forms import NotProven
from optimizer.certificate.tree import ORDERS

Tree = list
Attack = Callable[[Tree, Random], Tree]


def _nodes(tree: Tree) -> Iterator[Tree]:
    """Yield every node of a tree, the leaves last."""
    waiting = [tree]
    while waiting:
        node = waiting.pop(0)
        yield node
        if node[0] == "order":
            waiting += [part for _, part in node[2:]]
        elif node[0] not in ("rows", "void", "within"):
            waiting += node[-2:]


def _leaves(tree: Tree) -> list[Tree]:
    return [node for node in _nodes(tree) if node[0] == "rows"]


def _multiplied(by: Callable[[float, Random], object]) -> Attack:
    """Return what changes every multiplier."""

    def attack(tree: Tree, random: Random) -> Tree:
        for row in chain.from_iterable(leaf[1:] for leaf in _leaves(tree)):
            row[-1] = by(row[-1], random)
        return tree

    return attack


def _each_leaf(change: Callable[[list, Random], list]) -> Attack:
    """Return what changes the rows of every leaf."""

    def attack(tree: Tree, random: Random) -> Tree:
        for leaf in _leaves(tree):
            leaf[1:] = change(leaf[1:], random)
        return tree

    return attack


def _permuted(rows: list, random: Random) -> list:
    last = random.sample([row[-1] for row in rows], len(rows))
    return [[*row[:-1], y] for row, y in zip(rows, last, strict=True)]


def _each_row(change: Callable[[list], list]) -> Attack:
    return _each_leaf(lambda rows, _: [change(row) for row in rows])


def _cut(tree: Tree, random: Random) -> Tree:
    """Leave out what lies about every cut."""
    for node in _nodes(tree):
        if node[0] == "c":
            node[2:4] = [node[2] - 20.0, node[3] + 20.0]
    return tree


def _overlapped(tree: Tree, random: Random) -> Tree:
    """Have each cut's ends change places, far apart."""
    for node in _nodes(tree):
        if node[0] == "c":
            node[2:4] = [node[3] + 20.0, node[2] - 20.0]
    return tree


def _order_dropped(tree: Tree, random: Random) -> Tree:
    for node in _nodes(tree):
        if node[0] == "order":
            del node[random.randrange(2, len(node))]
    return tree


def _orders_invented(tree: Tree, random: Random) -> Tree:
    """Look at the first order only, whatever it is called."""
    node = next((node for node in _nodes(tree) if node[0] == "order"), None)
    if node is not None:
        node[2:] = [[order, copy.deepcopy(node[2][1])] for order in ([0, 0, 0], *ORDERS)]
    return tree


def _in_a_figure(tree: Tree, random: Random) -> Tree:
    """Prove it for half of a range, twice."""
    return ["figure", 0, random.uniform(6.0, 7.0), tree, copy.deepcopy(tree)]


def _in_a_density(tree: Tree, random: Random) -> Tree:
    return ["density", 0, 0.01, 30.0, tree, copy.deepcopy(tree)]


def _far_off(tree: Tree, random: Random) -> Tree:
    """Cut off all there is, on both sides, and call the rest a gap."""
    rows = [["rows", ["c", 0, end, 1.0]] for end in (1, 0)]
    return ["c", 0, 20.0, -20.0, *rows]


def _leaves_called(*leaf: object) -> Attack:
    """Return what puts another leaf in the place of each."""

    def attack(tree: Tree, random: Random) -> Tree:
        for node in _leaves(tree):
            node[:] = leaf
        return tree

    return attack


def _on_either_side(tree: Tree, random: Random) -> Tree:
    """Prove it above a line that all lies above, and below it call it void."""
    return ["line", 0.0, 100.0, ["void"], tree]


ATTACKS: dict[str, Attack] = {
    "leaves called void": _leaves_called("void"),
    "leaves within a region": _leaves_called("within", 0),
    "leaves within the last region": _leaves_called("within", -1),
    "above a line": _on_either_side,
    "as it is": lambda tree, _: tree,
    "multipliers scaled": _multiplied(lambda y, _: 1e6 * y),
    "a multiplier is made larger": _multiplied(lambda y, r: y * r.choice((1.0, 1.01, 10.0))),
    "signs changed": _multiplied(lambda y, _: -y),
    "some signs changed": _multiplied(lambda y, r: y * r.choice((-1.0, 1.0))),
    "multipliers permuted": _each_leaf(_permuted),
    "no rows": _each_leaf(lambda *_: []),
    "one row less": _each_leaf(lambda rows, r: r.sample(rows, max(0, len(rows) - 1))),
    "rows twice": _each_leaf(lambda rows, _: [*rows, *rows]),
    "one leaf for all": lambda tree, r: r.choice(_leaves(tree)),
    "the first branch for all": lambda tree, _: tree[-2] if tree[0] == "c" else tree,
    "rows of another weight": _each_row(lambda row: [row[0], row[1] + 1, *row[2:]]),
    "rows counted from the end": _each_row(lambda row: [row[0], -1, *row[2:]]),
    "the other end or corner": _each_row(lambda row: [*row[:-2], 1, row[-1]]),
    "tangents elsewhere": _each_row(
        lambda row: [*row[:2], 5 * row[2], row[-1]] if row[0] == "p_above" else row
    ),
    "an unknown kind": _each_row(lambda row: ["row_" + row[0], *row[1:]]),
    "a wider gap": _cut,
    "cuts the wrong way round": _overlapped,
    "an order left out": _order_dropped,
    "orders invented": _orders_invented,
    "within a figure": _in_a_figure,
    "within a density": _in_a_density,
    "the rest called a gap": _far_off,
    "not a number": _multiplied(lambda *_: float("nan")),
    "without end": _multiplied(lambda *_: float("inf")),
    "in words": _multiplied(lambda y, _: str(1e9 * abs(y))),
    "true": _multiplied(lambda *_: True),
    "null": _multiplied(lambda *_: None),
    "too long to be written out": _multiplied(lambda *_: 10**4000),
}  # fmt: skip


def _false(name: str, turn: int) -> tuple[Json, np.ndarray]:
    """Return a file with one claim that is false, and the densities of what contradicts it."""
    data = proofs(name)
    numbers = [i for i, claim in enumerate(data["claims"]) if "none" in claim]
    number = numbers[turn % len(numbers)]
    x = line_up(name, data["claims"][number])
    false = moved(data, number, x)
    assert surely_meets(false, false["claims"][0], x)
    return false, x


def _found(data: Json) -> Outcome:
    """Return what is found of the one claim of a file; a file that is none shows nothing."""
    try:
        (outcome,) = outcomes(data)
    except NotProven as error:
        return Outcome("", (), None, wrong=str(error))
    return outcome


def test_true_claims_are_found_true():
    """The same files before anything is false in them."""
    for name in LINES:
        assert [outcome.wrong for outcome in outcomes(proofs(name)) if outcome.wrong] == []


@pytest.mark.parametrize("name", LINES)
def test_a_false_claim_is_refused(name):
    """However its proof is tampered with."""
    for turn, (how, attack) in enumerate(ATTACKS.items()):
        false, _ = _false(name, turn)
        claim = false["claims"][0]
        claim["none"] = attack(claim["none"], Random(how))  # noqa: S311 - the same again
        outcome = _found(false)
        assert outcome.wrong, (name, how)
        assert not outcome.checked


def test_they_are_more_than_200():
    assert len(LINES) * len(ATTACKS) >= 200


TRICKS = {
    "an order of axes that is none": lambda order: [
        ["in_order", 0, -1, 1.0], ["over", 0, order[2], 2, 6.6, 0, 1.0],
        ["under", 0, order[0], 0, 6.5, 0, 1.0],
    ],
    "the weight before the first": lambda order: [
        ["under", -1, order[0], 0, 6.5, 0, 1.0], ["over", -1, order[0], 0, 6.5, 0, 1.0],
    ],
    "an RG before the lowest": lambda order: [
        ["over", 0, order[0], -1, 6.6, 0, 1.0], ["under", 0, order[0], 0, 6.5, 0, 1.0],
    ],
}  # fmt: skip
"""Rows that contradict each other if places are counted from the end, as Python does."""


@pytest.mark.parametrize("name", ["alder", "larch-metric", "about the centre"])
@pytest.mark.parametrize("trick", TRICKS)
def test_places_are_not_counted_from_the_end(name, trick):
    """Where every order of axes is looked at, with such rows."""
    false, _ = _false(name, 0)
    if name == "alder":  # so that RGs are free
        false["claims"][0]["question"]["figures"][0] = [6.3, 6.6]
    tree = ["order", 0, *([list(order), ["rows", *TRICKS[trick](order)]] for order in ORDERS)]
    if trick == "the weight before the first":
        tree[1] = len(false["claims"][0]["question"]["balls"]) - 1
    false["claims"][0]["none"] = tree
    assert "is not a place" in _found(false).wrong


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda ball: ball.update(errors=[-1e3, -1e3, -1e3]), "below zero"),
        (lambda ball: ball.update(radius=-10.9), "below zero"),
        (lambda ball: ball.update(radius=0.5), "outside its ball"),
        (lambda ball: ball.update(aligned="no"), "neither true nor false"),
        (lambda ball: ball.update(aligned=1), "neither true nor false"),
        (lambda ball: ball.pop("errors"), "errors"),
        (lambda ball: ball["moments"][0].__setitem__(0, -1.0), "no part has"),
        (lambda ball: ball["moments"][0].__setitem__(4, -1.0), "no part has"),
        (lambda ball: ball["moments"][0].__setitem__(1, 0.5), "off the pin axis"),
        (lambda ball: ball["moments"][0].__setitem__(3, 1e6), "outside its ball"),
        (lambda ball: ball["moments"][0].append(0.0), "not written as a proof"),
        (lambda ball: ball["moments"][0].__setitem__(0, 1e999), "is not a number"),
    ],
)
def test_balls_that_are_none_are_refused(change, word):
    false, _ = _false("larch-metric", 0)
    change(next(iter(false["balls"].values())))
    with pytest.raises(NotProven, match=word):
        list(outcomes(false))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("balls",), ["elsewhere"]),
        (("columns", 0, 0), -1),
        (("columns", 0, 0), 0.0),
        (("columns", 0, 0), True),
        (("columns", 0, 0), 99),
        (("densities", 0), [-1.0, 30.0]),
        (("densities", 0), [2.0, 1.0]),
        (("densities", 0), [1.0]),
        (("about_cg",), ["no"]),
        (("about_cg",), []),
        (("asked",), "false"),
        (("asked",), 0),
        (("figures", 0), [-7.0, 7.0]),
        (("figures",), [[6.0, 7.0]]),
        (("off", 0), -0.1),
        (("off", 0), float("nan")),
        (("offset", 0), -1.0),
        (("level",), "1"),
        (("limits", 0, "k"), -1),
        (("limits", 0, "k"), 7),
        (("limits", 1, "at"), [-1]),
        (("limits", 1, "at"), [0, 1]),
        (("limits", 1, "at"), ["cover"]),
        (("limits", 0, "at"), [0]),
        (("limits", 0, "least"), float("-inf")),
        (("steps",), {"0": -0.1}),
        (("steps",), [0.1]),
    ],
)
def test_questions_that_are_none_are_refused(path, value):
    """Of true proofs as well: what can't be read isn't shown."""
    data = proofs("larch-metric")
    data["claims"] = data["claims"][:1]
    *way, last = path
    holder = data["claims"][0]["question"]
    for key in way:
        holder = holder[key]
    holder[last] = value
    assert _found(data).wrong


def test_line_ups_that_are_none_are_refused():
    """Densities of what exists, moved until numpy finds a figure off by ten times what is let."""
    refused = 0
    for name in LINES:
        data = proofs(name)
        for claim in [claim for claim in data["claims"] if "some" in claim]:
            x = np.array(claim["some"])
            for change in (1.001, 0.98, -1.0, np.roll(x, 1) / x, 0.0):
                other = dict(claim, some=(x * change).tolist())
                if _misses(data, other, x * change):
                    assert _found({**data, "claims": [other]}).wrong, (name, claim["about"], change)
                    refused += 1
            for odd in ([], [*x, 1.0], x[1:].tolist(), None, "1.0", [None] * len(x)):
                assert _found({**data, "claims": [dict(claim, some=odd)]}).wrong
    assert refused >= 100


def _misses(data: Json, claim: Json, x: np.ndarray) -> bool:
    """Whether a line-up misses something by far."""
    if np.min(x) <= 0.0:
        return True
    far = max(
        max(low - v, v - high) / max(1.0, abs(v)) for _, v, low, high in asked(data, claim, x)
    )
    question, own = claim["question"], own_figures(data, claim, x)
    for i in range(2 + question["asked"]):
        (low, high), off = question["figures"][i], question["off"][i]
        far = max(far, max(own[:, i].max() - off, low) - min(own[:, i].min() + off, high))
    return far > 2e-5


@pytest.mark.slow
@pytest.mark.parametrize("name", LINES)
def test_whatever_is_accepted_is_true(name):
    """Claims changed anywhere, true and false ones: none is accepted that a ball contradicts."""
    random, accepted, contradicted = Random(name), 0, 0  # noqa: S311 - the same again
    data = proofs(name)
    grown = trees.Grown([data])
    for turn in range(400):
        false, x = _false(name, turn)
        start = random.choice((false, {**data, "claims": [random.choice(data["claims"])]}))
        changed = trees.mutated(random, start, grown)
        try:
            (outcome,) = outcomes(json.loads(json.dumps(changed, default=str)))
        except (NotProven, ValueError, RecursionError):
            continue
        if outcome.checked and outcome.question is not None:
            accepted += 1
            claim = changed["claims"][0]
            if len(claim["question"]["densities"]) == len(x):
                assert not surely_meets(changed, claim, x), (name, turn)
        contradicted += outcome.wrong is not None
    assert accepted
    assert contradicted
