"""The store: one computes, all have a copy; what is raised, or of other code, isn't there."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
import store
from answers import example, solved
from optimizer_texts import SHELLS, read, shipped
from store import stored

from optimizer.questions.line_up.data import solution

FOLDER = Path(__file__).parent


@pytest.fixture(autouse=True)
def own(tmp_path, monkeypatch):
    monkeypatch.setenv(store.FOLDER, str(tmp_path))
    return tmp_path


def counted():
    """A function and the arguments that it was called with."""
    calls = []

    @stored
    def doubled(value, *, fail=False):
        calls.append(value)
        if fail:
            raise ValueError(value)
        return [value, value]

    return doubled, calls


def test_the_second_time_nothing_is_computed_and_nobody_has_anothers_copy():
    doubled, calls = counted()
    doubled("a").append("spoilt")
    assert doubled("a") == ["a", "a"]
    assert doubled("b") == ["b", "b"]
    assert calls == ["a", "b"]


def test_a_scenario_is_told_by_what_it_says():
    """The same text read twice is one scenario; another text, or another mould, is another one."""
    key = partial(json.dumps, default=store.told)
    elder = shipped("elder")
    one, same = read(elder), read(elder)
    assert key(one) == key(same)
    others = [read(elder + " "), replace(one, chosen={"belly": {"16": 3.0}}), solved(SHELLS)]
    assert len({key(some) for some in (one, *others)}) == 4
    with pytest.raises(TypeError, match="has no key"):
        key(object())


def test_what_is_raised_is_raised_again():
    doubled, calls = counted()
    for _ in range(2):
        with pytest.raises(ValueError, match="a"):
            doubled("a", fail=True)
    assert calls == ["a", "a"]


def test_other_code_has_other_answers(monkeypatch):
    doubled, calls = counted()
    doubled("a")
    monkeypatch.setattr(store, "code", lambda: "changed")
    doubled("a")
    assert calls == ["a", "a"]


def test_the_code_is_every_file_of_ours(monkeypatch, tmp_path):
    for folder in store.KNOWN:
        (tmp_path / "tree" / folder).mkdir(parents=True)
    file = tmp_path / "tree" / "optimizer" / "page.css"
    monkeypatch.setattr(store, "ROOT", tmp_path / "tree")
    told = []
    for content in ("a", "b", "a"):
        file.write_text(content)
        told.append(store.code.__wrapped__())
    assert told[0] == told[2] != told[1]


SLOW = """
import os, time
from store import stored

from optimizer.questions.line_up.data import solution

@stored
def process():
    time.sleep(0.2)
    return os.getpid()

print(process())
"""


def test_processes_that_ask_at_once_are_told_what_one_of_them_found(own):
    """A function of the same name in each."""
    some = [
        subprocess.Popen(  # noqa: S603 - our own words
            [sys.executable, "-c", SLOW],
            stdout=subprocess.PIPE,
            env=os.environ | {"PYTHONPATH": str(FOLDER)},
        )
        for _ in range(3)
    ]
    told = {int(one.communicate()[0]) for one in some}
    assert len(told) == 1
    assert told <= {one.pid for one in some}


def test_a_line_up_with_its_surfaces_comes_back(own):
    """Rowan's blocks are turned outlines, made of functions."""
    first, again = example("rowan"), example("rowan")
    assert first is not again
    assert solution(first) == solution(again)
