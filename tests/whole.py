"""Which of many cases a run tries, since all of them take long.

`make whole` tries all. `make test` leaves out what is marked `slow`, and tries every n-th case of a
test that is marked `turns(n)`: from which on goes by the commit, so that all have their turn. CI
then goes on with the rest, from a place on that goes by the commit, and stops in time; so it does
with the ring of all cases, on other versions.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from hashlib import sha256
from itertools import cycle, islice
from pathlib import Path
from typing import NamedTuple, TypeVar

import pytest
from hypothesis import is_hypothesis_test
from store import code

T = TypeVar("T")
QUICK, REST, RING, ALL = "quick", "rest", "ring", "all"
WHICH = (ALL, RING, QUICK, REST)
EXAMPLES = {ALL: 100, RING: 100, REST: 100, QUICK: 25}
"""How many hypothesis tries where a test doesn't say so."""


def chosen(
    items: Sequence[pytest.Item], cases: str, commit: str
) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """Return which tests run at a commit, in their order, and which are left."""
    if cases == ALL:
        return list(items), []
    if cases == RING:
        return _ring(items, cases, commit), []
    turns: dict[str, Iterator[bool]] = {}
    quick = {item for item in items if _is_quick(item, turns, commit)}
    if cases == QUICK:
        wanted = [item for item in items if item in quick]
    else:
        more = [item for item in items if item not in quick or _has_more(item)]
        wanted = _ring(more, cases, commit)
    left = {*items}.difference(wanted)
    return wanted, [item for item in items if item in left]


def _ring(items: Sequence[pytest.Item], name: str, commit: str) -> list[pytest.Item]:
    """Return all, from the one on whose turn it is to be the first."""
    first = turn(name, len(items), commit) if items else 0
    return [*items[first:], *items[:first]]


def turn(name: str, every: int, commit: str) -> int:
    """Return which of so many has its turn at a commit."""
    return int(sha256(f"{commit} {name}".encode()).hexdigest(), 16) % every


def _is_quick(item: pytest.Item, turns: dict[str, Iterator[bool]], commit: str) -> bool:
    """Whether `make test` tries it. `turns` has for each test its cases to come."""
    mark = item.get_closest_marker("turns")
    if mark is not None:
        test, (every, *ring) = item.nodeid.partition("[")[0], mark.args
        if test not in turns:
            first = turn(*ring or [test], every, commit)
            turns[test] = cycle([k == first for k in range(every)])
        if not next(turns[test]):
            return False
    return item.get_closest_marker("slow") is None


def _has_more(item: pytest.Item) -> bool:
    """Whether `make test` tries fewer examples of hypothesis's with it."""
    test = getattr(item, "obj", None)
    if not is_hypothesis_test(test):
        return False
    own = getattr(test, "_hypothesis_internal_use_settings", None)
    return own is None or own.max_examples in EXAMPLES.values()


@cache
def commit() -> str:
    """Return the hash of the commit, or of the files where git doesn't know one."""
    told = subprocess.run(
        ["git", "rev-parse", "HEAD"],  # noqa: S607 - whichever git there is
        cwd=Path(__file__).parent,
        capture_output=True,
        text=True,
        check=False,
    )
    return told.stdout.strip() if told.returncode == 0 else code()


class Share(NamedTuple):
    """Every so many-th of a test's cases, from the first on that is its."""

    first: int
    every: int

    def __call__(self, cases: Iterable[T]) -> Iterator[T]:
        """Yield its cases. Those between are made and passed over: random ones are the same."""
        return islice(cases, self.first, None, self.every)

    def __str__(self) -> str:
        return f"share {self.first + 1} of {self.every}"


def in_shares(every: int) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return what makes so many tests, one of them each turn, of one that asks for its `share`."""
    shares = pytest.mark.parametrize("share", [Share(k, every) for k in range(every)], ids=str)
    turns = pytest.mark.turns(every)
    return lambda test: turns(shares(test))
