"""How few pours a line needs: a tree of the ways to group its places.

A place is a part of a ball; places are numbered ball by ball. Those of one material at one density
are one pour. A `Clash` is a set of blocks of places of which no line-up has each at one density,
shown by a tree of boxes for some of the balls. A tree of groupings shows that a line needs at least
so many pours: a node puts a place into each group of its material that there is, and into one of
its own; a leaf has a clash within the groups, or as many places as are claimed, all apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from typing import Any, NamedTuple, TypeAlias

from optimizer.certificate.forms import NotProven, exact
from optimizer.certificate.question import Question
from optimizer.certificate.tree import Node, check_empty
from optimizer.certificate.witness import check_witness

Blocks: TypeAlias = tuple[tuple[int, ...], ...]
"""Places, block by block: those of a block are at one density."""
Groups: TypeAlias = tuple[frozenset[int], ...]
"""Places of a branch at one density, of one material: those of different groups are at different
densities, or of different materials."""
Pair: TypeAlias = frozenset[int]


class Fewest(NamedTuple):
    """What was checked: a line needs at least `pours`, and one with `found` exists (None: unknown).

    So many `clashes` were shown, by so many `boxes`, and the tree has so many `leaves`. `materials`
    are those of each ball's parts.
    """

    materials: tuple[tuple[str, ...], ...]
    pours: int
    found: int | None
    clashes: int
    boxes: int
    leaves: int


@dataclass(frozen=True)
class Clash:
    """Blocks of places that can't all be at one density each."""

    blocks: Blocks


@dataclass(frozen=True)
class Places:
    """The places of a line and their materials; `question` is what every line-up of it meets."""

    question: Question
    materials: tuple[str, ...]

    @classmethod
    def read(cls, question: Question, materials: Sequence[Sequence[object]]) -> Places:
        """Return the places of a file: the material of each part, ball by ball."""
        for ball, own in zip(question.balls, materials, strict=True):
            if len(own) != len(ball.parts):
                raise NotProven("materials of other parts than a ball's")
        return cls(question, tuple(str(material) for own in materials for material in own))

    @cached_property
    def columns(self) -> tuple[int, ...]:
        """The column of each place's density."""
        return tuple(j for own in self.question.columns for j in own)

    @cached_property
    def firsts(self) -> tuple[int, ...]:
        """For each place the first one of its material that has its density in every line-up."""
        seen = dict[object, int]()
        firsts = []
        for place, (material, j) in enumerate(zip(self.materials, self.columns, strict=True)):
            low, high = self.question.densities[j]
            key = (material, "at", low) if low == high else (material, "column", j)
            firsts.append(seen.setdefault(key, place))
        return tuple(firsts)

    def differ(self, a: int, b: int) -> bool:
        """Whether two places are two pours in every line-up: by material or ranges of density."""
        (low, high), (least, most) = (self.question.densities[self.columns[p]] for p in (a, b))
        return self.materials[a] != self.materials[b] or high < least or most < low

    def count(self, densities: Sequence[object]) -> int:
        """Return how many pours a line-up has. Raises NotProven where it isn't one."""
        check_witness(self.question, densities)
        of_column = [exact(density) for density in densities]
        return len({(m, of_column[j]) for m, j in zip(self.materials, self.columns, strict=True)})

    def tied(self, balls: Sequence[int], blocks: Blocks) -> Question:
        """Return what is asked of some balls, if the places of each block are at one density."""
        question, roots = self.question, list(range(len(self.question.densities)))
        ends = list(question.densities)
        for first, *others in blocks:
            for place in others:
                a, b = roots[self.columns[first]], roots[self.columns[place]]
                (low, high), (least, most) = ends[a], ends[b]
                ends[a] = max(low, least), min(high, most)
                roots = [a if root == b else root for root in roots]
        number = {k: n for n, k in enumerate(balls)}
        return replace(
            question,
            balls=tuple(question.balls[k] for k in number),
            columns=tuple(tuple(roots[j] for j in question.columns[k]) for k in number),
            densities=tuple(ends),
            limits=tuple(
                limit._replace(k=number[limit.k]) for limit in question.limits if limit.k in number
            ),
            about_cg=tuple(question.about_cg[k] for k in number),
            steps={roots[j]: step for j, step in question.steps.items()},
        )


class Branch:
    """A branch of a tree: places that are grouped, and clashes that rule out more."""

    def __init__(self, places: Places, clashes: Sequence[Clash], groups: Groups) -> None:
        self.places, self.groups = places, groups
        self.group = {place: n for n, group in enumerate(groups) for place in group}
        self.broken: int | None = None
        """The number of a clash within the groups."""
        self.barred = set[Pair]()
        """Pairs, by `of` their places, that would make a clash if they were at one density."""
        for n, clash in enumerate(clashes):
            missing = {
                frozenset((self.of(block[0]), self.of(place)))
                for block in clash.blocks
                for place in block
                if self.of(block[0]) != self.of(place)
            }
            if not missing:
                self.broken = n
            elif len(missing) == 1:
                self.barred |= missing

    def of(self, place: int) -> int:
        """Return a name for the group of a place, or for the place itself where it has none."""
        first = self.places.firsts[place]
        return first if first not in self.group else -1 - self.group[first]

    def apart(self, a: int, b: int) -> bool:
        """Whether two places are two pours in every line-up of this branch."""
        one, other = self.of(a), self.of(b)
        if one == other:
            return False
        return (
            (one < 0 and other < 0)
            or self.places.differ(a, b)
            or frozenset((one, other)) in self.barred
        )

    def with_place(self, place: int) -> Iterator[Groups]:
        """Yield the groups with one place more: in each group of its material, then in its own."""
        first, material = self.places.firsts[place], self.places.materials[place]
        if first in self.group:
            raise NotProven("a place that has its group")
        for n, group in enumerate(self.groups):
            if self.places.materials[min(group)] == material:
                yield (*self.groups[:n], group | {first}, *self.groups[n + 1 :])
        yield (*self.groups, frozenset({first}))


def check_fewest(question: Question, data: Mapping[str, Any]) -> Fewest:
    """Check that a line needs at least so many pours. Raises NotProven where that isn't shown.

    {"materials": [[material of each part] of each ball], "pours": how many, "clashes": [{"balls":
    [k, …], "same": [[place, …], …], "none": tree of boxes}, …], "groups": tree of groupings}; and,
    where a line-up is known, its densities as "some".
    """
    places, clashes, boxes = Places.read(question, data["materials"]), list[Clash](), 0
    for each in data["clashes"]:
        blocks = tuple(tuple(int(place) for place in block) for block in each["same"])
        boxes += check_empty(places.tied(each["balls"], blocks), each["none"]).boxes
        clashes.append(Clash(blocks))
    pours = int(data["pours"])
    leaves = check_groupings(places, clashes, pours, data["groups"])
    found = None if "some" not in data else places.count(data["some"])
    materials = tuple(tuple(map(str, own)) for own in data["materials"])
    return Fewest(materials, pours, found, len(clashes), boxes, leaves)


def check_groupings(places: Places, clashes: Sequence[Clash], pours: int, tree: Node) -> int:
    """Return how many leaves show that no grouping has fewer than `pours` groups.

    A node is ["place", place, tree for each group that it may join, …, tree for its own]; a leaf is
    ["clash", number] or ["apart", place, …]. Raises NotProven where a tree doesn't show it.
    """
    waiting, leaves = [(Groups(), tree)], 0
    while waiting:
        groups, (kind, *rest) = waiting.pop()
        leaves += kind != "place"
        if kind == "place":
            place, *parts = rest
            every = list(Branch(places, (), groups).with_place(place))
            if len(parts) != len(every):
                raise NotProven("a group that a place may be in isn't looked at")
            waiting += zip(every, parts, strict=True)
        elif kind == "clash":
            (number,) = rest
            if Branch(places, [clashes[number]], groups).broken is None:
                raise NotProven("a clash of places that aren't at one density")
        elif kind == "apart":
            branch = Branch(places, clashes, groups)
            if len(rest) < pours or not all(branch.apart(a, b) for a, b in combinations(rest, 2)):
                raise NotProven(f"fewer than {pours} places that are apart")
        else:
            raise NotProven(f"{str(kind)[:40]!r} is no kind of node")
    return leaves
