"""The options that several commands have."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Jobs = Annotated[
    int | None,
    typer.Option(
        "--jobs",
        metavar="N",
        min=1,
        show_default=False,
        help="How many processes to run here. Without it: one, and more if the work lasts and "
        "cores are idle. The answer is the same.",
    ),
]
Proof = Annotated[
    Path | None,
    typer.Option(
        "--proof",
        metavar="FILE.json",
        show_default=False,
        help="Also write the proofs of all that is called proven; samespin proof FILE checks them.",
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler",
        metavar="ADDRESS",
        help="Run on the Dask cluster whose scheduler is at ADDRESS instead (extra: cluster).",
    ),
]

Json = Annotated[
    bool, typer.Option("--json", help="Print one JSON object on stdout and nothing else.")
]
Output = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="Write to FILE; its suffix gives the format: .json, .csv, .html, .xlsx.",
    ),
]
DrawnOutput = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="Write to FILE; its suffix gives the format: .json, .csv, .html, .xlsx "
        "(.dxf: the moulds).",
    ),
]
File = Annotated[str, typer.Argument(metavar="FILE", help="A scenario file.")]
Pictures = Annotated[
    Path | None,
    typer.Option("--pictures", metavar="DIR", help="Also write each picture to DIR (.svg)."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite existing files.")]


def check_pool(jobs: int | None, scheduler: str | None) -> None:
    """Refuse --jobs with --scheduler."""
    if scheduler is not None and jobs is not None and jobs > 1:
        what = "is for this machine: a cluster uses all of its workers"
        raise typer.BadParameter(what, param_hint="'--jobs'")
