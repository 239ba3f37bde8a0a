"""What is wrong with an outcome, whatever the command was given."""

from __future__ import annotations

import io
import json
import re
import unicodedata
import xml.parsers.expat
import zipfile
from collections.abc import Callable, Iterator, Mapping
from html.parser import HTMLParser
from typing import Any, Final

from fuzz.trial import Case, Outcome

LINES: Final = 30
"""Lines of errors that a reader would still read."""
LETTERS: Final = 8000
LARGE: Final = 1_000_000_000
ANSWERS: Final = (0, 4, 5, 6)
ERRORS: Final = (2, 3)
EXITS: Final = {
    "feasible": (0, 5),
    "within_tolerance": (0, 5),
    "infeasible": (4,),
    "undecided": (6,),
}
ROUNDING: Final = 1e-6
BIDI: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
NOT_A_NUMBER: Final = re.compile(r"(?<![\w\"'/.-])[-+]?(?:nan|inf|infinity)(?!\w)", re.IGNORECASE)


def faults(case: Case, outcome: Outcome) -> Iterator[str]:
    """Yield what is wrong: a word, and after a colon how it shows."""
    out, err = (stream.decode("utf-8", "replace") for stream in (outcome.out, outcome.err))
    if outcome.killed:
        yield f"killed: by signal {outcome.killed} after {outcome.seconds:.0f} s"
        return
    if outcome.code not in (*ANSWERS, *ERRORS):
        yield f"exit {outcome.code}: {(err or out).strip()[-300:]}"
    if "Traceback" in err or "a fault of samespin" in err + out:
        yield f"fault: {(err or out).strip()[-300:]}"
    if re.search(r"[A-Z]\w*Warning: ", err):
        yield f"warning: {err[:300]}"
    if outcome.peak > LARGE:
        yield f"memory: {outcome.peak / 1e6:.0f} MB"
    as_json = "--json" in case.arguments
    yield from _streams(outcome, out, err, as_json=as_json)
    yield from _numbers(case, outcome, out)
    yield from _files(case, outcome)
    if case.arguments[0] == "solve" and outcome.code in ANSWERS:
        told = [outcome.out] * as_json + [outcome.files.get(case.output or "", b"")]
        solutions = [json.loads(text) for text in told if text.startswith(b"{")]
        solutions = [told for told in solutions if told.get("format") == "samespin/solution@1"]
        yield from (lie for told in solutions for lie in _lies(told, outcome.code))


def _lies(solution: Mapping[str, Any], code: int) -> Iterator[str]:
    """Yield where a solution contradicts itself: its status, its balls, the exit code."""
    status = solution["status"]
    if code not in EXITS[status]:
        yield f"lie: {status} with exit {code}"
    if status not in {"feasible", "within_tolerance"}:
        return
    for weight in solution["weights"]:
        label = weight["label"]
        for off in weight["deviations"]:
            if off["tolerances"] is not None and abs(off["tolerances"]) > 1.0 + ROUNDING:
                yield f"lie: {status}, and {label} is {off['tolerances']} off in {off['target']}"
        for margin in weight["margins"]:
            if margin["slack"] < -ROUNDING and not margin["rule_only"]:
                yield f"lie: {status}, and {label} breaks {margin['limit']} by {margin['slack']}"


def _streams(outcome: Outcome, out: str, err: str, *, as_json: bool) -> Iterator[str]:
    for name, text in (("stdout", out), ("stderr", err)):
        if raw := sorted({c for c in text if _is_raw(c)}):
            yield f"raw: {raw} on {name}"
    if err.count("\n") > LINES or len(err) > LETTERS:
        yield f"flood: {err.count(chr(10))} lines, {len(err)} letters on stderr"
    if as_json and outcome.code != 2:
        if wrong := _not_json(out):
            yield f"json: {wrong}"
    elif outcome.code in ERRORS and not err.strip() and not out.strip():
        yield f"silent: exit {outcome.code} without a word"
    elif outcome.code == 0 and not out.strip() and not err.strip():
        yield "silent: exit 0 without a word"


def _is_raw(letter: str) -> bool:
    return letter != "\n" and (
        unicodedata.category(letter) == "Cc" or letter in BIDI or letter in "\u2028\u2029"
    )


def _numbers(case: Case, outcome: Outcome, out: str) -> Iterator[str]:
    """Yield figures that are none, unless the files themselves say so."""
    if outcome.code in ANSWERS and (found := NOT_A_NUMBER.search(out)):
        given = b"".join(case.files.values()).decode("utf-8", "replace")
        if not NOT_A_NUMBER.search(given):
            yield f"not a number: {out[max(0, found.start() - 80) : found.end() + 20]!r}"


def _files(case: Case, outcome: Outcome) -> Iterator[str]:
    """Yield what is wrong with the files: inputs are kept, and outputs are whole or not there."""
    for name, content in case.files.items():
        if outcome.files.get(name) != content:
            yield f"input: {name} is not what it was"
    for name in outcome.files:
        if name not in case.files and name != case.output and not name.endswith(".schema.json"):
            yield f"left: {name}"
    written = outcome.files.get(case.output or "")
    if written is None:
        if case.output is not None and outcome.code == 0:
            yield f"missing: {case.output}"
        return
    if outcome.code in ERRORS and case.arguments[0] != "schedule":
        yield f"written: {case.output} beside an error"
    try:
        WHOLE[case.output.rpartition(".")[2]](written)  # type: ignore[union-attr]
    except Exception as error:  # noqa: BLE001
        yield f"broken: {case.output}: {type(error).__name__}: {error}"


def _not_json(text: str) -> str | None:
    """Return why a text is not one JSON object, if it isn't."""
    try:
        _json(text.encode())
    except ValueError as error:
        return f"{error}: {text[:200]!r}"
    return None


def _json(content: bytes) -> None:
    def refuse(constant: str) -> Any:
        raise ValueError(f"{constant} is no JSON")

    if not isinstance(json.loads(content.decode(), parse_constant=refuse), dict):
        raise TypeError("is not an object")


class _Page(HTMLParser):
    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if any(name.startswith("on") for name, _ in attrs):
            raise ValueError(f"<{tag}> has a handler")


def _html(content: bytes) -> None:
    text = content.decode()
    if not text.rstrip().endswith("</html>") or "<script>alert(7)" in text:
        raise ValueError("is not whole, or runs a name")
    _Page().feed(text)


def _xlsx(content: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        for name in book.namelist():
            if name.endswith(".xml"):
                _xml(book.read(name))


def _xml(content: bytes) -> None:
    xml.parsers.expat.ParserCreate().Parse(content, True)


def _text(content: bytes) -> None:
    if not content.decode().endswith("\n") or any(
        _is_raw(c) for c in content.decode() if c not in "\r\ufeff"
    ):
        raise ValueError("is cut, or has raw control characters")


WHOLE: Final[Mapping[str, Callable[[bytes], None]]] = {
    "json": _json, "html": _html, "xlsx": _xlsx, "svg": _xml, "csv": _text, "toml": _text,
    "dxf": _text,
}  # fmt: skip
"""What raises unless a file of this suffix is whole."""
