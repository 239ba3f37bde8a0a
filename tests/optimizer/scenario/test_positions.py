"""Places of keys, against a TOML text whose lines and columns can be counted by eye."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from optimizer_texts import SCENARIOS
from oracles.toml_text import document

from optimizer.scenario.source.positions import Place, paths, places

RICH = '''# comment = [x]
plain = 1
  indented = "a # b \\" = c"
"quoted.key" = 'lit [x] # \\'
dotted . "sub key".deep = 1979-05-27 07:32:00
multi = """
fake = 1 ""quotes"" \\"""
[fake]"""
raw = \'\'\'
[fake.too]
x = 1\'\'\'\'
list = [ 1, # one
  [ "a]", 'b' ],
  { k = 1, "l m" = [2] }, ]
[table."a.b"]
inside = { a.b = 1, c = { d = 2 } }
[[arr]]
x = 1
[arr.sub]
y = 2
[[arr.more]]
z = 3
[[arr]]
[[arr.more]]
z = 4
[[arr.more]]
z = 5
'''


def test_every_kind_of_key_and_string_is_found_where_it_stands() -> None:
    """Lines and columns counted by hand in RICH, both from 1."""
    content = tomllib.loads(RICH)
    found = places(RICH, content)
    expected = {
        ("plain",): (2, 1),
        ("indented",): (3, 3),
        ("quoted.key",): (4, 1),
        ("dotted", "sub key", "deep"): (5, 1),
        ("multi",): (6, 1),
        ("raw",): (9, 1),
        ("list",): (12, 1),
        ("list", 0): (12, 10),
        ("list", 1): (13, 3),
        ("list", 1, 1): (13, 11),
        ("list", 2): (14, 3),
        ("list", 2, "k"): (14, 5),
        ("list", 2, "l m", 0): (14, 21),
        ("table", "a.b"): (15, 1),
        ("table", "a.b", "inside", "a", "b"): (16, 12),
        ("table", "a.b", "inside", "c", "d"): (16, 27),
        ("arr", 0): (17, 1),
        ("arr", 0, "x"): (18, 1),
        ("arr", 0, "sub", "y"): (20, 1),
        ("arr", 0, "more", 0, "z"): (22, 1),
        ("arr", 1): (23, 1),
        ("arr", 1, "more", 0, "z"): (25, 1),
        ("arr", 1, "more", 1): (26, 1),
        ("arr", 1, "more", 1, "z"): (27, 1),
    }
    assert {path: found[path] for path in expected} == {
        path: Place(*at) for path, at in expected.items()
    }
    assert set(found) == set(paths(content))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_a_key_stands_where_its_place_says(path: Path) -> None:
    """At the place of a key stands the key, bare, quoted or dotted, or the heading it is in."""
    source = path.read_text(encoding="utf-8")
    content = tomllib.loads(source)
    found = places(source, content)
    assert set(found) == set(paths(content))
    lines = source.splitlines()
    for (*_, key), place in found.items():
        assert place.line is not None
        assert place.column is not None
        here = lines[place.line - 1][place.column - 1 :]
        dotted = f".{key}" in here.partition("=")[0]
        assert here.startswith(("[", f"{key}", f'"{key}"')) or dotted or isinstance(key, int)


def test_no_place_rather_than_a_wrong_one() -> None:
    """The walk sees one key where the content has another: nothing is told."""
    assert places("a = 1\nb = 2\n", {"a": 1, "c": 2}) == {}


def test_windows_line_ends_change_no_place() -> None:
    content = tomllib.loads(RICH)
    windows = RICH.replace("\n", "\r\n")
    assert places(windows, tomllib.loads(windows)) == places(RICH, content)


KEYS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=6)
VALUES = st.recursive(
    st.integers() | st.booleans() | KEYS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_the_walk_agrees_with_tomllib_on_any_text(content: dict[str, object]) -> None:
    source = document(content)
    parsed = tomllib.loads(source)
    assert set(places(source, parsed)) == set(paths(parsed))
    assert len(set(paths(parsed))) >= len(content)
