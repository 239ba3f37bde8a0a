"""The same table as Parquet: written from the CSV rows once all are there, and read back.

A Parquet file ends with an index and can't be appended to, so its rows are kept in a CSV file
beside it until the last one. Row group by row group: neither file is ever held whole.
"""

from __future__ import annotations

import csv
from itertools import islice
from pathlib import Path
from typing import Any, Final

from optimizer.questions.explore.table import IDENTITY, Table, csv_line, refused
from shared.errors import InputError, Problem

GROUP: Final = 1000
"""Rows in a row group."""
WORDS: Final = ("status", "limit", "weight", "part", "reach", *IDENTITY)
"""Columns of text; "candidate" is an integer, the others are floats."""


def parquet_package() -> Any:
    """Return the package that reads and writes Parquet. Raises InputError without it."""
    try:
        import pyarrow.parquet  # noqa: PLC0415 - an extra
    except ImportError as error:
        what, instead = "a .parquet file needs pyarrow", "pip install 'samespin[tables]', or .csv"
        raise InputError([Problem(what, instead=instead)]) from error
    return pyarrow


def write_parquet(table: Table, rows: Path, to: Path) -> None:
    """Write the CSV file `rows` as Parquet."""
    arrow = parquet_package()
    schema = arrow.schema([(name, _type(arrow, name)) for name in table.columns])
    with (
        rows.open(encoding="utf-8-sig", newline="") as stream,
        arrow.parquet.ParquetWriter(to, schema) as writer,
    ):
        reader = csv.reader(stream)
        next(reader)
        for group in iter(lambda: list(islice(reader, GROUP)), []):
            columns = [
                arrow.array([_value(name, text) for text in column], schema.field(name).type)
                for name, column in zip(table.columns, zip(*group, strict=True), strict=True)
            ]
            writer.write_batch(arrow.record_batch(columns, schema=schema))


def read_parquet(table: Table, of: Path, to: Path) -> None:
    """Write a Parquet file's rows as CSV. Raises InputError for another program's file."""
    arrow = parquet_package()
    wrong = refused(of, "is there already, and is no table of samespin explore on this scenario")
    try:
        file = arrow.parquet.ParquetFile(of)
    except arrow.ArrowException as error:
        raise wrong from error
    with file, to.open("wb") as stream:
        if file.schema_arrow.names != list(table.columns):
            raise wrong
        stream.write(table.header)
        for group in file.iter_batches(GROUP):
            for row in zip(*(column.to_pylist() for column in group.columns), strict=True):
                stream.write(csv_line(["" if v is None else str(v) for v in row]))


def _type(arrow: Any, name: str) -> Any:
    if name in WORDS:
        return arrow.string()
    return arrow.int64() if name == "candidate" else arrow.float64()


def _value(name: str, text: str) -> Any:
    if not text:
        return None
    if name in WORDS:
        return text
    return int(text) if name == "candidate" else float(text)
