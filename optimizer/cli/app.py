"""All commands under one name. Their imports are made when they run, so help stays fast."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, Final

import typer

from optimizer import version
from optimizer.cli.new import new
from optimizer.cli.schema import schema
from optimizer.questions.check.command import check
from optimizer.questions.compare.command import compare
from optimizer.questions.explore.command import explore
from optimizer.questions.grow.command import grow
from optimizer.questions.parts.command import parts
from optimizer.questions.proof.command import proof
from optimizer.questions.reconcile.command import reconcile
from optimizer.questions.report.command import report
from optimizer.questions.schedule.command import schedule
from optimizer.questions.sharing.command import sharing
from optimizer.questions.solve.command import solve
from optimizer.questions.tolerance.command import tolerance
from optimizer.questions.window.command import window
from optimizer.terminal import frame

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
COMMANDS: Final[Mapping[Callable[..., int], str]] = {
    new: "Write a commented scenario that solves at once.",
    check: "Check a scenario; measure its balls where nothing is free.",
    solve: "Find the densities of a line-up, or why there are none.",
    window: "Show which RG and differential the weights can reach.",
    sharing: "Find how few different pours suffice, and at what margin.",
    explore: "Try many values of the free dimensions.",
    grow: "Find where one more pour is worth most, or which may go.",
    schedule: "Print what the foundry weighs and pours (pour sheet).",
    tolerance: "Show what the foundry's spread does: the share of good balls.",
    reconcile: "Tell from first balls what was poured, and what to pour next.",
    parts: "Show what each part does for weight, RG and differential.",
    compare: "Compare line-ups side by side.",
    report: "Write one page of pictures and tables of a line-up.",
    proof: "Check, in exact arithmetic, what another command has proven.",
    schema: "Print the JSON Schema of the scenario file.",
}
"""Each command and its line in the list of commands; its name is its function's."""
for command, short_help in COMMANDS.items():
    app.command(command.__name__, short_help=short_help)(command)


@app.callback(invoke_without_command=True)
def bare(
    context: typer.Context,
    *,
    show_version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.")
    ] = False,
) -> int:
    """Print the path from a new scenario to the schedule, unless there is a command."""
    if show_version:
        frame.put(f"samespin {version()}\n")
        raise typer.Exit
    if context.invoked_subcommand is None:
        frame.put(PATH)
    return frame.DONE


def run(arguments: Sequence[str]) -> int:
    """Run a command line and return its exit code; every error ends here."""
    return frame.guarded(lambda: _answered(arguments), as_json="--json" in arguments)


def _answered(arguments: Sequence[str]) -> Any:
    """Return a command's result. Raises BrokenPipeError if its reader hung up, except on help."""
    try:
        return app(args=list(arguments), prog_name="samespin", standalone_mode=False)
    except SystemExit:  # typer's response to a broken pipe, whatever it was doing
        if {"-h", "--help"}.isdisjoint(arguments):
            raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE)) from None
        frame.let_go_of(sys.stdout)
        return frame.DONE
