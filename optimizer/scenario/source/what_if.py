"""A scenario's text as a command is asked to change it: by one of its [cases], by --set, or both.

Either is an edit of the text, which is then read like any file. Errors in a value point to the case
or to the --set that it comes from, and all others to the file as it stands. The new text tells its
case and the keys that were set in [what_if]: whoever has the text knows what it is.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.source.content import Content, items, table
from optimizer.scenario.source.editing import edited
from optimizer.scenario.source.files import parsed
from optimizer.scenario.source.keys import (
    Keys,
    WrongKeyError,
    check_plain,
    dotted,
    keys_of,
    pair,
    path_of,
)
from optimizer.scenario.source.positions import (
    NOWHERE,
    Place,
    layout,
    paths,
    places,
    problem_at,
    value_at,
)
from optimizer.scenario.source.toml_text import toml_value
from shared.errors import InputError, Problem
from shared.letters import short
from shared.models import Path, suggestion
from shared.what_if import AS_WRITTEN, WhatIf

CASES: Final = "cases"
RECORD: Final = "what_if"


@dataclass(frozen=True)
class Changed:
    """A text, and the place of each of its keys; None: where it stands in the text."""

    source: str
    places: dict[Path, Place] | None = None


@dataclass(frozen=True)
class _Set:
    """One key, its new value, and where that is asked for."""

    keys: Keys
    value: Any
    place: Place


def changed(source: str, file: str, what: WhatIf) -> Changed:
    """Return the text `source` with a case and then each set of `what` written into it.

    Raises InputError with every one that can't be.
    """
    if not what:
        return Changed(source)
    content = parsed(source, file)
    where, wrong = places(source, content), list[Problem]()
    case = None if what.case == AS_WRITTEN else what.case
    sets = [] if case is None else list(_of_case(source, content, case, file, wrong))
    sets += _of_options(what.sets, wrong)
    for each in sets:
        try:
            path, before = path_of(each.keys, content), set(paths(content))
            source = edited(source, {path: each.value}, below="revision")
        except WrongKeyError as error:
            wrong.append(problem_at(each.place, file, *error.args))
            continue
        except InputError as error:
            (said,) = error.problems
            several = isinstance(value_at(content, path)[1], dict | list)
            instead = "set each key in it" if several else said.instead
            wrong.append(problem_at(each.place, file, said.what, None, instead))
            continue
        content = tomllib.loads(source)
        now = set(paths(content))
        new = {p for p in now if p not in before or p[: len(path)] == path}
        where = {p: place for p, place in where.items() if p in now}
        where |= dict.fromkeys({path[:2], *new}, each.place)  # a part is wrong by what is set in it
    if wrong:
        raise InputError(wrong)
    options = [dotted(each.keys) for each in sets if each.place.said]
    known = items(table(content, RECORD).get("set"))
    record: dict[Path, Any] = {} if case is None else {(RECORD, "case"): case}
    if options:
        record[RECORD, "set"] = list(dict.fromkeys([*known, *options]))
    return Changed(edited(source, record, file=file), where)


def recorded(source: str) -> WhatIf:
    """Return what a text says that was changed in it, with the values that it has now.

    What differs from its case counts as set.
    """
    content = tomllib.loads(source)
    record = table(content, RECORD)
    case, keys = record.get("case"), list(map(keys_of, items(record.get("set"))))
    for own, value in _assigned(source, content, case) if isinstance(case, str) else ():
        if own not in keys and _value_at(own, content) not in [(True, value), (False, None)]:
            keys.append(own)
    values = ((each, _value_at(each, content)[1]) for each in keys)
    return WhatIf(case, tuple(f"{dotted(each)} = {toml_value(value)}" for each, value in values))


def _value_at(keys: Keys, content: Content) -> tuple[bool, Any]:
    """Return whether a key has a value, and this value."""
    try:
        return value_at(content, path_of(keys, content))
    except WrongKeyError:
        return False, None


def wrong_record(content: Content) -> Iterator[Mistake]:
    """Yield mistakes in [what_if], and a case that can't be asked for."""
    record, cases = table(content, RECORD), table(content, CASES)
    if AS_WRITTEN in cases:
        yield Mistake((CASES, AS_WRITTEN), "names the file as it stands", "take another name")
    case = record.get("case")
    if isinstance(case, str) and case not in cases:
        yield Mistake((RECORD, "case"), "is not a case", suggestion(case, cases))
    for k, text in enumerate(items(record.get("set"))):
        try:
            keys = keys_of(str(text))
            there = keys[0] not in {CASES, RECORD} and _value_at(keys, content)[0]
        except WrongKeyError:
            there = False
        if not there:
            yield Mistake((RECORD, "set", k), "is not a key of this file", "leave it out")


def _of_options(texts: tuple[str, ...], wrong: list[Problem]) -> Iterator[_Set]:
    """Yield what is asked for by --set; what can't be read goes to `wrong`."""
    seen: set[Keys] = {(CASES,), (RECORD,)}
    for text in texts:
        place = Place(said=f"--set {short(text, 100)}")
        try:
            keys, value = pair(text)
        except WrongKeyError as error:
            wrong.append(problem_at(place, None, *error.args))
            continue
        if keys in seen or keys[:1] in seen:
            what = "is set twice" if keys in seen - {(CASES,), (RECORD,)} else "can't be set"
            wrong.append(problem_at(place, None, f"{dotted(keys)} {what}", None, None))
            continue
        seen.add(keys)
        yield _Set(keys, value, place)


def _of_case(
    source: str, content: Content, case: str, file: str, wrong: list[Problem]
) -> Iterator[_Set]:
    """Yield what differs in a case; what can't be read goes to `wrong`."""
    cases, place = table(content, CASES), Place(said=f"--case {case}")
    if table(content, RECORD):
        what = f"{file} was changed already, as its [what_if] says"
        wrong.append(problem_at(place, None, what, None, "name the scenario's own file"))
        return
    if case not in cases:
        instead = suggestion(case, cases) if cases else f"{file} has no [cases]"
        wrong.append(problem_at(place, None, "there is no such case", None, instead))
        return
    stands, assigned = places(source, content), _assigned(source, content, case)
    if cases[case] and not assigned:
        what = "its keys can't be told apart"
        wrong.append(problem_at(place, None, what, None, "write each on a line of its own"))
    for keys, value in assigned:
        at = stands.get((CASES, case, *keys), NOWHERE)
        try:
            check_plain(value)
        except WrongKeyError as error:
            wrong.append(problem_at(at, file, *error.args))
            continue
        yield _Set(keys, value, at)


def _assigned(source: str, content: Content, case: str) -> list[tuple[Keys, Any]]:
    """Return the keys that a case gives a value, in file order; a table in braces is a value."""
    values, above = layout(source, content).values, (CASES, case)
    own = [path for path in values if path[:2] == above and len(path) > len(above)]
    outer = (path for path in own if not any(path[:k] in values for k in range(3, len(path))))
    return [
        (tuple(map(str, path[2:])), value_at(content, path)[1])
        for path in sorted(outer, key=values.__getitem__)
    ]
