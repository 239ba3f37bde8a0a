"""The table of an exploration: a CSV file that grows row by row, and can be continued.

Every row states its scenario, seed and version, so that a table is never continued as another
one. Dimensions are in the scenario's unit of length, figures in inches.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from optimizer import version
from optimizer.lineup.moulds.rack import Slot
from optimizer.paper.words import listed
from optimizer.paper.writers.csv_ import MARK, cell
from optimizer.questions.explore.candidate import Candidate
from optimizer.questions.explore.explore import Explored
from optimizer.questions.explore.row import CandidateRow
from optimizer.questions.line_up.data import figure_key, number
from optimizer.scenario import Scenario
from optimizer.scenario.source.writing import fingerprint
from shared.errors import InputError, Problem
from shared.units import INCH

IDENTITY = ("scenario", "seed", "made_by")
HEX = 16
"""Digits of the scenario's fingerprint."""


@dataclass(frozen=True)
class Table:
    """The columns of a table, how its rows are written, and how they are read."""

    asked: Scenario
    slots: Sequence[Slot]
    seed: int

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of the slots: the dimension's, and the weights where not all share it."""
        unit, every = self.asked.text.units.length, len(self.asked.classes)
        return tuple(
            f"{slot.of.name} [{unit}]"
            + ("" if len(slot.labels) == every else f" {'+'.join(slot.labels)}")
            for slot in self.slots
        )

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """The header."""
        return (
            "candidate",
            *map(_word, self.names),
            *("status", "margin_tolerances", "limit", "weight", "part"),
            *(*map(figure_key, self.asked.target), "off_target_tolerances"),
            *("differential_low_in", "differential_high_in", "rg_low_in", "rg_high_in", "reach"),
            *IDENTITY,
        )

    @cached_property
    def identity(self) -> tuple[str, ...]:
        """The cells that identify the exploration in every row."""
        content = fingerprint(tomllib.loads(self.asked.source), self.asked.files)
        return content[:HEX], str(self.seed), f"samespin {version()}"

    @property
    def header(self) -> bytes:
        """The first line."""
        return csv_line(self.columns)

    def line(self, number_: int, explored: Explored) -> bytes:
        """Return the line of a candidate, numbered from 1."""
        values, candidate = explored
        part = listed(candidate.part) if isinstance(candidate.part, tuple) else candidate.part
        return csv_line(
            (
                str(number_),
                *map(repr, values),
                candidate.status,
                _figure(candidate.margin),
                *(_word(text or "") for text in (candidate.limit, candidate.weight, part)),
                *(_figure(v, INCH) for v in candidate.figures or (None,) * len(self.asked.target)),
                _figure(candidate.off),
                *_reach(candidate),
                *self.identity,
            )
        )

    def rows(self, path: Path) -> Iterator[CandidateRow]:
        """Yield the rows of a file, one at a time. Raises InputError at one that is wrong."""
        try:
            with path.open(encoding="utf-8-sig", newline="") as stream:
                reader = csv.reader(stream)
                next(reader, None)
                for n, cells in enumerate(reader, start=1):
                    yield self._row(n, cells, path)
        except (UnicodeDecodeError, csv.Error) as error:
            raise refused(path, f"can't be read as CSV ({error})") from error

    def _row(self, n: int, cells: Sequence[str], path: Path) -> CandidateRow:
        try:
            texts = dict(zip(self.columns, cells, strict=True))
            if int(texts["candidate"]) != n:
                raise ValueError  # noqa: TRY301 - handled like any other wrong cell
            row = CandidateRow(
                number=n,
                values=tuple(float(texts[_word(name)]) for name in self.names),
                status=texts["status"],
                margin=_read(texts["margin_tolerances"]),
                limit=texts["limit"],
                weight=texts["weight"],
                part=texts["part"],
                differential=_span(texts, "differential"),
                rg=_span(texts, "rg"),
                reach=texts["reach"],
                off=_read(texts["off_target_tolerances"]),
            )
        except ValueError as error:
            what = f"candidate {n} doesn't stand there as it was written"
            raise refused(path, what, n + 1) from error
        for name, asked in zip(IDENTITY, self.identity, strict=True):
            if texts[name] != asked:
                raise _other(path, name, texts[name], asked)
        return row

    def mended(self, path: Path, *, force: bool = False) -> int:
        """Return how many candidates the file has, after cutting off a half-written last line.

        0 without a file, or with one that stopped within its header. Raises InputError for another
        program's file, or a table of another scenario, seed or version; 0 with `force`.
        """
        try:
            if self._begun(path):
                _cut(path)
                return sum(1 for _ in self.rows(path))
        except InputError:
            if not force:
                raise
        return 0

    def _begun(self, path: Path) -> bool:
        """Whether the file has our header; False where it ends before. Raises InputError."""
        if not path.exists():
            return False
        if not path.is_file():  # a pipe or a device may never end
            raise refused(path, "is not an ordinary file")
        with path.open("rb") as stream:
            first = stream.read(len(MARK + self.header)).removeprefix(MARK)[: len(self.header)]
        if self.header.startswith(first):
            return first == self.header
        with path.open("rb") as stream:
            line = stream.readline(1 << 20).removeprefix(MARK).decode("utf-8", "replace").strip()
        if line.startswith("candidate,") and line.endswith(",".join(IDENTITY)):
            raise _other(path, "scenario", "", "")
        raise refused(path, "is there already, and is no table of samespin explore")


def _cut(path: Path, block: int = 1 << 16) -> None:
    """Cut off whatever follows the last end of a line."""
    with path.open("r+b") as stream:
        end = stream.seek(0, io.SEEK_END)
        while end:
            start = max(end - block, 0)
            stream.seek(start)
            at = stream.read(end - start).rfind(b"\n")
            if at >= 0:
                stream.truncate(start + at + 1)
                return
            end = start


def _other(path: Path, name: str, own: str, asked: str) -> InputError:
    """Return the error for a table of another exploration, or with other columns."""
    what = {
        "scenario": "is the table of another scenario, or was begun by another samespin",
        "seed": f"is the table of seed {own}, not {asked}",
        "made_by": f"was begun by {own}, and this is {asked}",
    }
    return refused(path, what[name])


def refused(path: Path, what: str, line: int | None = None) -> InputError:
    """Return the error for a file that can't be continued."""
    instead = "choose another name, or begin it anew with --force"
    return InputError([Problem(what, instead=instead, file=str(path), line=line)])


def _reach(candidate: Candidate) -> Iterator[str]:
    reach = candidate.reach
    for ends in (None, None) if reach is None else (reach.differential, reach.rg):
        yield from ("", "") if ends is None else (_figure(end, INCH) for end in ends)
    yield "" if reach is None else reach.certainty


def _figure(value: float | None, unit: float = 1.0) -> str:
    return "" if value is None else repr(number(value / unit))


def _read(text: str) -> float | None:
    return float(text) if text else None


def _span(texts: dict[str, str], name: str) -> tuple[float, float] | None:
    low, high = (_read(texts[f"{name}_{end}_in"]) for end in ("low", "high"))
    return None if low is None or high is None else (low, high)


def _word(text: str) -> str:
    """Return a text for a cell: one line, and no formula."""
    return cell(" ".join(text.split()))


def csv_line(cells: Sequence[str]) -> bytes:
    """Return cells as a line of CSV."""
    stream = io.StringIO(newline="")
    csv.writer(stream).writerow(cells)
    return stream.getvalue().encode()
