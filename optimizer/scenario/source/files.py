"""From a file to its parsed TOML, or the reason why not in plain words."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path as FilePath
from typing import Any, Final

from optimizer.scenario.source.positions import Place, given_twice
from shared import untrusted
from shared.errors import FileError, InputError, Problem
from shared.models import Path
from shared.untrusted import MB

SAYS: Final = {
    "Invalid value": ("the value is not valid", "text goes in quotes"),
    "Invalid initial character for a key part": ("a key is expected here", None),
    "Expected '=' after a key in a key/value pair": ("a key is not followed by =", None),
    "Expected newline or end of document after a statement": (
        "something follows the value",
        "write one key = value a line",
    ),
    "Unclosed array": ("a list is not closed", "close it with ]"),
    "Unclosed inline table": ("a table is not closed", "close it with }"),
    "Unterminated string": ("a text is not closed", "close it with its quote"),
    "Illegal character '\\n'": ("a text is not closed on its line", "close it with its quote"),
    "Expected ']' at the end of a table declaration": ("a [heading] is not closed", None),
    "Expected ']]' at the end of an array declaration": ("a [[heading]] is not closed", None),
}
"""Our words for tomllib's messages: what is wrong, and what would be right."""
MOST: Final = MB
"""The most bytes of a scenario: fifty times the longest example."""
DEEPEST: Final = 50
"""The most levels of nested tables and lists: no scenario needs a dozen."""
CHAIN: Final = re.compile(rf"(?:\.[ \t]*[^\s.,=\[\]{{}}][^.,=\[\]{{}}\n]*){{{DEEPEST}}}")
"""A key of so many parts: a parser's time grows by the square of them."""


def text_of(path: str | FilePath, most: int = MOST) -> str:
    """Return the text of the file at `path`, without a byte-order mark. Raises InputError."""
    try:
        return untrusted.content(FilePath(path), most).decode("utf-8-sig")
    except FileError as error:
        what, instead = error.what, error.instead
    except UnicodeDecodeError as error:
        what, instead = f"is not UTF-8 text, at byte {error.start + 1}", "save it as UTF-8"
    raise InputError([Problem(what, instead=instead, file=str(path))])


def parsed(source: str, file: str) -> dict[str, Any]:
    """Return the parsed TOML `source`; `file` names it in errors. Raises InputError."""
    if len(source) > MOST:
        raise InputError([Problem("is larger than 1 MB", None, "name a smaller one", file)])
    problem = Problem("is nested too deeply", file=file)
    try:
        if not CHAIN.search(source):
            content = tomllib.loads(source)
            if _depth(content) <= DEEPEST:
                return content
    except RecursionError:
        pass
    except tomllib.TOMLDecodeError as error:
        problem = _not_toml(str(error), source, file)
        saved = {"{": ("JSON", "a saved solution"), "<": ("a page", "a report's page")}
        if source.lstrip()[:1] in saved:
            of, name = saved[source.lstrip()[:1]]
            instead = f"{name} goes to samespin schedule, compare or report"
            problem = Problem(f"is {of}, not a scenario in TOML", instead=instead, file=file)
    except ValueError:  # Python's own limit on the digits of a number
        problem = Problem("has a number with too many digits", file=file)
    raise InputError([problem])


def _depth(content: Any) -> int:
    """Return how many levels of tables and lists there are, counted without recursion."""
    depth, level = 0, [content]
    while level:
        depth += 1
        inner = (node.values() if isinstance(node, dict) else node for node in level)
        level = [value for values in inner for value in values if isinstance(value, dict | list)]
    return depth


def _not_toml(message: str, source: str, file: str) -> Problem:
    """Return the problem behind one of tomllib's messages, at the place that it names."""
    twice = given_twice(source) if message.startswith(("Cannot", "Duplicate")) else None
    if twice is not None:
        return _given_twice(*twice, source, file)
    words, _, where = message.rpartition(" (at ")
    what, instead = SAYS.get(words, (words, None))
    place = [int(number) for number in re.findall(r"\d+", where)]
    if not place:  # at the end of the document
        lines = source.splitlines() or [""]
        place = [len(lines), len(lines[-1]) + 1]
    return Problem(f"is not TOML: {what}", None, instead, file, *place)


def _given_twice(path: Path, place: Place, source: str, file: str) -> Problem:
    """Return the problem of a repeated key, often an unquoted label with a dot."""
    key = str(path[-1])
    dotted = re.search(rf"(?:^|[{{,])[ \t]*({re.escape(key)}\.\d+)[ \t]*=", source, re.MULTILINE)
    if key.isdigit() and dotted:
        what = f"{dotted[1]} is read as a table, since it has a dot"
        instead = f'put the label in quotes: "{dotted[1]}" = …'
    else:
        what, instead = f"{key} is given twice", "keep one of them"
    return Problem(what, None, instead, file, place.line, place.column)
