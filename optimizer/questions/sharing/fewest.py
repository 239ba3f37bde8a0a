"""How many pours a line needs at least: proven, by branching of our own over relaxations.

Places (a part in a weight) are put, one by one, into each group of their material that there is, or
into one of their own. A branch ends where its groups clash, or where more places are apart than may
be. A clash that is learned in one branch ends others. The tree of branches is what
`optimizer.certificate.groupings` checks.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

from optimizer.ball.weight_class import LinearMap
from optimizer.certificate.forms import NotProven
from optimizer.certificate.groupings import Branch, Groups, check_groupings
from optimizer.lineup.proof.boxes import Node
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.rows import Lineup
from optimizer.paper.words import listed, plural
from optimizer.questions.sharing.clashes import Clashes, SpentError
from optimizer.questions.sharing.grouped import grouped
from optimizer.questions.sharing.pours import Point
from optimizer.scenario import Scenario, linear_maps
from shared import activity

QUICK: Final = 200
"""Programs that are solved for a bound beside every answer: a quarter of a second."""
THOROUGH: Final = 10_000
"""Programs that are solved for a proof that is asked for: 10 to 15 s for four weights."""
PLACES: Final = 100
"""The most places that are looked at: of a longer line, those of some weights."""


@dataclass(frozen=True, eq=False)
class Fewest:
    """What is known of the fewest pours: so many were `found`, and `at_least` so many are needed.

    `proof` is the evidence for the latter; `open_ended`: a greater effort may show more. `point` is
    the line-up with the fewest where the search for a proof came upon it; `across`, if different
    parts are poured alike in it, which `same_density` can't ask for.
    """

    found: int
    at_least: int
    proof: Evidence
    point: Point | None = None
    across: bool = False
    open_ended: bool = False

    @property
    def closed(self) -> bool:
        """Whether no line-up needs fewer than were found."""
        return self.at_least == self.found


def fewest(scenario: Scenario, points: Sequence[Point], effort: int) -> Fewest | None:
    """Return the best bound on the number of pours that `effort` programs prove.

    `points` are the line-ups that were found.
    """
    maps, found = _some(linear_maps(scenario)), min(point.pours for point in points)
    clashes = Clashes(maps, scenario.sharing, effort)
    clashes.alike = [[rho for own in _densities(point, maps) for rho in own] for point in points]
    search = _Search(clashes)
    at_least, tree = search.bound(found)
    whole, left = len(maps) == len(scenario.classes), search.left_open
    point = grouped(scenario, clashes.lineup, left) if whole and left else None
    if point is not None and at_least <= point.pours < found:
        found, points = point.pours, (point, *points)
    else:
        point = None
    data = {
        "materials": clashes.materials,
        "pours": at_least,
        "clashes": clashes.proofs,
        "groups": tree,
    }
    try:
        check_groupings(clashes.places, clashes.known, at_least, tree)
    except NotProven:
        return None
    if whole and (known := _witness(points, clashes, found)):
        data["some"] = known
    who = listed(clashes.lineup.labels)
    about = f"no line-up of {who} that meets the target exactly has fewer than {at_least} pours"
    proof = replace(clashes.whole, about=about, shown={"fewest": data})
    groups = left if point is not None and left is not None else ()
    across = any(len({clashes.part(place) for place in group}) > 1 for group in groups)
    more = search.spent and effort < THOROUGH
    return Fewest(found, at_least, proof, point, across=across, open_ended=more)


def _some(maps: Sequence[LinearMap]) -> list[LinearMap]:
    """Return the weights that are looked at, of a long line from the lightest to the heaviest."""
    most = max(2, PLACES // max(len(linear_map.pours) for linear_map in maps))
    if len(maps) <= most:
        return list(maps)
    order = sorted(range(len(maps)), key=lambda k: maps[k].mass)
    chosen = {order[k * (len(maps) - 1) // (most - 1)] for k in range(most)}
    return [maps[k] for k in sorted(chosen)]


def _densities(point: Point, maps: Sequence[LinearMap]) -> list[list[float]]:
    balls = {weight.label: weight.ball for weight in point.result.weights}
    return [balls[linear_map.label].densities.tolist() for linear_map in maps]


def _witness(points: Sequence[Point], clashes: Clashes, pours: int) -> list[float] | None:
    """Return the densities of a line-up with so many pours before they were rounded, too."""
    for point in points:
        densities = _unrounded(point, clashes.lineup)
        with suppress(NotProven):
            if point.pours == pours and clashes.places.count(densities) == pours:
                return densities
    return None


def _unrounded(point: Point, lineup: Lineup) -> list[float]:
    """Return a point's densities, before they were rounded, as columns of a line-up."""
    x = lineup.columns.middle.copy()
    for group in point.result.groups:
        for k, label in enumerate(group.lineup.labels):
            if label in lineup.labels:
                own = lineup.columns.poured[lineup.labels.index(label)]
                x[own] = group.lineup.columns.densities(k, group.x)
    return [float(density) for density in x[: lineup.columns.figures]]


class _Search:
    """The search for a tree of groupings that shows that so many pours are needed."""

    def __init__(self, clashes: Clashes) -> None:
        self.clashes, self.places = clashes, clashes.places
        self.every = list(dict.fromkeys(self.places.firsts))
        self.spent = False
        """Whether the effort was spent before more could be shown."""
        self.left_open: Groups | None = None
        """A grouping of all places that no proof rules out, where one stopped the search."""

    def bound(self, found: int) -> tuple[int, Node]:
        """Return how many pours are needed, at most `found`, and the tree that shows it."""
        with suppress(SpentError):
            self._learn_pairs()
        apart = self._apart(self._branch(()))[:found]
        at_least, tree = len(apart), ["apart", *apart]
        try:
            while at_least < found:
                activity.at(f"proving that {plural(at_least, 'pour')} won't do")
                if (more := self._tree((), at_least)) is None:
                    break
                at_least, tree = at_least + 1, more
        except SpentError:
            self.spent = True
        return at_least, tree

    def _learn_pairs(self) -> None:
        """Ask of each two places whether they clash, those of the most different weights first."""
        masses = [self.clashes.maps[k].mass for k, _ in self.clashes.at]
        pairs = [(a, b) for a, b in combinations(self.every, 2) if not self.places.differ(a, b)]
        for pair in sorted(pairs, key=lambda pair: -abs(masses[pair[0]] - masses[pair[1]])):
            self.clashes.clash((pair,))

    def _tree(self, groups: Groups, most: int, joined: int | None = None) -> Node | None:
        """Return the tree from a branch, where a place has just `joined` others.

        None if it can't be shown that it needs more than `most` pours. Raises SpentError.
        """
        self.clashes.spend(1)
        branch = self._branch(groups)
        if branch.broken is None:
            if len(apart := self._apart(branch)) > most:
                return ["apart", *apart[: most + 1]]
            if joined is not None and self.clashes.among(groups, joined):
                branch = self._branch(groups)
        if branch.broken is not None:
            return ["clash", branch.broken]
        left = [place for place in self.every if place not in branch.group]
        if not left:
            self.left_open = groups
            return None
        return self._split(branch, min(left, key=lambda p: self._freedom(branch, p, left)), most)

    def _split(self, branch: Branch, place: int, most: int) -> Node | None:
        """Return the tree from a branch that puts a place everywhere it may be.

        What is learned on the way may end the branch itself.
        """
        parts = list[Node]()
        for each in branch.with_place(place):
            joined = place if len(each) == len(branch.groups) else None
            if (part := self._tree(each, most, joined)) is None:
                return None
            if (broken := self._branch(branch.groups).broken) is not None:
                return ["clash", broken]
            parts.append(part)
        return ["place", place, *parts]

    def _branch(self, groups: Groups) -> Branch:
        return Branch(self.places, self.clashes.known, groups)

    def _freedom(self, branch: Branch, place: int, left: Sequence[int]) -> tuple[int, int]:
        """Return a key: places that may join the fewest groups, and clash with the most, first."""
        may = sum(not branch.apart(place, min(group)) for group in branch.groups)
        barred = sum(
            branch.apart(place, p) and not self.places.differ(place, p) for p in left if p != place
        )
        return may, -barred

    def _apart(self, branch: Branch) -> list[int]:
        """Return places that are apart, each two of them: one of each group, and more."""
        chosen = [min(group) for group in branch.groups]
        rest = [p for p in self.every if p not in branch.group]
        rest = [p for p in rest if all(branch.apart(p, q) for q in chosen)]
        for material in dict.fromkeys(self.places.materials[p] for p in rest):
            chosen += _clique(branch, [p for p in rest if self.places.materials[p] == material])
        return chosen


def _clique(branch: Branch, places: Sequence[int]) -> list[int]:
    """Return places that are apart, each two of them, as many as a greedy choice finds."""
    apart = {p: {q for q in places if branch.apart(p, q)} for p in places}
    order, best = sorted(places, key=lambda p: -len(apart[p])), list[int]()
    for start in places:
        clique = [start]
        for p in order:
            if apart[p].issuperset(clique):
                clique.append(p)
        best = max(best, clique, key=len)
    return best
