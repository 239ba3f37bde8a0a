"""That no case is lost between `make test`, the rest that CI begins, and `make whole`."""

from __future__ import annotations

from collections import Counter
from hashlib import sha256
from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from whole import ALL, QUICK, REST, RING, Share, chosen, commit, in_shares, turn

COMMITS = [sha256(str(k).encode()).hexdigest() for k in range(400)]


class Item:
    """A test as far as it is chosen by."""

    def __init__(self, nodeid, *marks, obj=None):
        self.nodeid, self.marks, self.obj = nodeid, {mark.name: mark for mark in marks}, obj

    def get_closest_marker(self, name):
        """Return its mark of a name, if it has one."""
        return self.marks.get(name)


@given(st.integers())
def many(_):
    """Tried as often as the profile says."""


@settings(max_examples=5)
@given(st.integers())
def few(_):
    """Tried as often as it says itself."""


TURNS = {"in four": 4, "in ten": 10}
ITEMS = [
    Item("plain"),
    Item("slow", pytest.mark.slow.mark),
    *(
        Item(f"{name}[{k}]", pytest.mark.turns(every).mark)
        for name, every in TURNS.items()
        for k in range(13)
    ),
    Item("many", obj=many),
    Item("few", obj=few),
]


def names(cases, at):
    return [item.nodeid for item in chosen(ITEMS, cases, at)[0]]


def test_quick_and_rest_are_the_whole_at_every_commit():
    every = [item.nodeid for item in ITEMS]
    assert names(ALL, COMMITS[0]) == every
    assert all(sorted(names(RING, one)) == sorted(every) for one in COMMITS)
    for one in COMMITS:
        quick, rest = names(QUICK, one), names(REST, one)
        assert {*quick, *rest} == set(every)
        assert set(quick) & set(rest) == {"many"}, "the rest tries more examples of it"
        assert {"plain", "few"} <= set(quick)
        assert "slow" in rest
        left = {item.nodeid for item in chosen(ITEMS, QUICK, one)[1]}
        assert left == set(every) - set(quick)


@pytest.mark.parametrize(("name", "every"), TURNS.items())
def test_every_case_has_its_turn_and_as_often_as_others(name, every):
    """One misses 400 commits with a chance of 0.9⁴⁰⁰, 1e-18; half of that is five deviations."""
    ran = Counter()
    for one in COMMITS:
        mine = [k for k in range(13) if f"{name}[{k}]" in names(QUICK, one)]
        assert mine == [k for k in range(13) if k % every == turn(name, every, one)]
        ran.update(mine)
    assert set(ran) == set(range(13))
    assert all(abs(count - 400 / every) < 5 * (400 / every) ** 0.5 for count in ran.values())


def test_a_commit_has_the_same_turns_again_and_each_test_its_own():
    assert [names(QUICK, one) for one in COMMITS[:20]] == [names(QUICK, o) for o in COMMITS[:20]]
    first, second = ([turn(name, 4, one) for one in COMMITS] for name in "ab")
    assert 0.15 < sum(a == b for a, b in zip(first, second, strict=True)) / 400 < 0.35
    assert commit() == commit() != ""


def test_tests_of_one_ring_have_their_turns_together():
    """They go on from the same answers."""
    some = [
        Item(f"{test}[{k}]", pytest.mark.turns(4, "ring").mark) for test in "ab" for k in range(4)
    ]
    for one in COMMITS[:20]:
        first, second = (item.nodeid for item in chosen(some, QUICK, one)[0])
        assert first[1:] == second[1:]


@pytest.mark.parametrize("cases", [REST, RING])
def test_the_rest_is_a_ring_that_begins_anywhere_and_so_are_all(cases):
    """So that what a commit has no time for comes early at another."""
    some = [Item(letter, pytest.mark.slow.mark) for letter in "abcdefg"]
    orders = {"".join(i.nodeid for i in chosen(some, cases, one)[0]) for one in COMMITS}
    assert orders == {("abcdefg" * 2)[k : k + 7] for k in range(7)}
    assert chosen([], cases, COMMITS[0]) == ([], [])


@pytest.mark.parametrize("every", [1, 3, 10, 40])
def test_shares_are_all_cases_and_each_but_once(every):
    shares = [list(Share(k, every)(iter(range(30)))) for k in range(every)]
    assert sorted(k for one in shares for k in one) == list(range(30))


def test_what_is_random_is_the_same_in_a_share_as_in_all():
    """A case that is passed over is made even so."""

    def made():
        value = 1
        while True:
            yield (value := value * 48271 % 2147483647)

    every = list(islice(made(), 12))
    for k in range(3):
        assert list(Share(k, 3)(islice(made(), 12))) == every[k::3]


def test_a_test_in_shares_is_as_many_tests_and_one_has_its_turn():
    @in_shares(4)
    def shared(share):
        """One of the tests."""

    marks = {mark.name: mark for mark in shared.pytestmark}
    assert marks["turns"].args == (4,)
    assert marks["parametrize"].args[1] == [Share(k, 4) for k in range(4)]
