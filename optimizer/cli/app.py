"""All commands under one name. What they need is imported when they run: help stays quick."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer

from optimizer import version
from optimizer.cli import (
    check,
    compare,
    explore,
    frame,
    new,
    report,
    schedule,
    schema,
    sharing,
    solve,
    window,
)

PATH = """\
samespin: the densities that give every weight of a ball the same RG and differential.

  samespin new juniper                           a commented scenario that solves at once
  samespin solve juniper.toml -o juniper.json    the densities, the margins, or why not
  samespin schedule juniper.json                 what the foundry weighs and pours

Each command explains itself: samespin solve --help
"""

app = typer.Typer(
    name="samespin",
    help="Find the densities that give every weight of a line of bowling balls the same RG and "
    "differential.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
for command in (new, check, solve, window, sharing, explore, schedule, compare, report, schema):
    command.register(app)


@app.callback(invoke_without_command=True)
def bare(
    context: typer.Context,
    *,
    show_version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.")
    ] = False,
) -> int:
    """Print the path from a new scenario to the schedule, unless there is a command to run."""
    if show_version:
        frame.put(f"samespin {version()}\n")
        raise typer.Exit
    if context.invoked_subcommand is None:
        frame.put(PATH)
    return frame.DONE


def run(arguments: Sequence[str]) -> int:
    """Run a command line and return its exit code; every error ends here."""
    return frame.guarded(
        lambda: app(args=list(arguments), prog_name="samespin", standalone_mode=False),
        as_json="--json" in arguments,
    )
