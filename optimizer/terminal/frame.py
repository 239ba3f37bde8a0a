"""What all commands share: exit codes, the two streams, and where every error ends.

The result goes to stdout, everything else to stderr. With --json stdout gets one JSON object and
nothing else, errors too.
"""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, TextIO

import typer

from optimizer.terminal import interrupts, progress
from shared import stopping
from shared.errors import InputError, Problem, SamespinError, errors_data

if TYPE_CHECKING:
    from optimizer.paper.document import Block, Report

DONE: Final = 0
FAULT: Final = 1
USAGE: Final = 2
INPUT: Final = 3
INFEASIBLE: Final = 4
MARGIN: Final = 5
UNDECIDED: Final = 6
INTERRUPTED: Final = interrupts.INTERRUPTED

EXIT: Final = {
    "feasible": DONE,
    "within_tolerance": DONE,
    "infeasible": INFEASIBLE,
    "undecided": UNDECIDED,
}
"""What a line-up's status means."""

Jobs = Annotated[
    int, typer.Option("--jobs", metavar="N", min=1, help="How many processes to run here.")
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
        help="Write to FILE; its suffix says the format: .json, .csv, .html, .xlsx "
        "(.dxf: the moulds).",
    ),
]
File = Annotated[str, typer.Argument(metavar="FILE", help="A scenario file.")]
Pictures = Annotated[
    Path | None,
    typer.Option("--pictures", metavar="DIR", help="Write each picture to DIR, too (.svg)."),
]
Force = Annotated[bool, typer.Option("--force", help="Write over a file that is there.")]


class Said(int):
    """An exit code of which all is said: the result is shown as far as it goes."""


def guarded(command: Callable[[], Any], *, as_json: bool) -> int:
    """Run `command` and return its exit code, whatever happens in it."""
    said: Any = DONE
    try:
        with progress.progress(hidden=as_json):
            said = command() or DONE
        code = int(said)
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    except Exception as error:  # noqa: BLE001  the last resort: said in one line, never silent
        if not stopping.asked():  # else it is what an import or C code made of the interrupt
            return _ended_by(error, as_json=as_json)
        code = INTERRUPTED
    if code == INTERRUPTED and not isinstance(said, Said):  # typer makes a code of the signal, too
        return interrupts.told(as_json=as_json)
    return code


def _ended_by(error: Exception, *, as_json: bool) -> int:
    """Say what has ended a command, and return its exit code."""
    if isinstance(error, SamespinError):
        problems = error.problems if isinstance(error, InputError) else [Problem(str(error))]
        return failed(problems, error.exit_code, as_json=as_json)
    if isinstance(error, OSError):  # of the disk, or of who may do what: for the user to mend
        on_file = error.filename is not None  # else stdout itself is at fault: tell it beside
        return failed([_refused(error)], INPUT, as_json=as_json and on_file)
    if hasattr(error, "format_message"):
        return _usage(error, as_json=as_json)
    return _fault(error, as_json=as_json)


def check_pool(jobs: int, scheduler: str | None) -> None:
    """Refuse to be told twice how much runs at a time."""
    if scheduler is not None and jobs > 1:
        what = "is for this machine: a cluster uses all of its workers"
        raise typer.BadParameter(what, param_hint="'--jobs'")


def put(text: str) -> None:
    """Write the result."""
    with _output() as stream:
        stream.write(text)


@contextmanager
def _output() -> Iterator[TextIO]:
    """Give the stream of the result. A reader that has gone away (`| head`) ends it quietly."""
    progress.end()
    try:
        yield sys.stdout
        sys.stdout.flush()
    except BrokenPipeError:
        let_go_of(sys.stdout)


def _refused(error: OSError) -> Problem:
    """Return what to say where the system refuses a file, or the output as on a full disk."""
    why = error.strerror or str(error)
    if error.filename is not None:
        return Problem("can't be read or written", why, file=os.fsdecode(error.filename))
    let_go_of(sys.stdout)
    return Problem("the result can't be written", why)


def put_json(data: dict[str, Any]) -> None:
    """Write the one JSON object of a command."""
    from optimizer.paper.writers import json_

    put(json_.text(data))


def show(blocks: Sequence[Block], following: str | None = None) -> None:
    """Write a document to be read, and what to type next."""
    from optimizer.paper.document import Paragraph
    from optimizer.paper.writers import console

    after = () if following is None else (Paragraph(f"Next: {following}"),)
    with _output() as stream:
        console.write((*blocks, *after), stream)


def answer(
    report: Report, following: str | None, paths: Collection[Path], *, as_json: bool
) -> None:
    """Show a report, or print its data, and say which files were written, these in JSON alone."""
    if not as_json:
        show(report.blocks, following)
    if paths:
        written(paths, as_json=as_json)
    elif as_json:
        put_json(report.data)


def tell(text: str) -> None:
    """Say something beside the result, if anybody is there to hear it."""
    try:
        with progress.wiped():
            sys.stderr.write(f"{text}\n")
            sys.stderr.flush()
    except BrokenPipeError:
        let_go_of(sys.stderr)


def let_go_of(stream: TextIO) -> None:
    """Point a stream at nothing, so that the interpreter's last flush can't complain."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def written(paths: Iterable[Path], *, as_json: bool) -> None:
    """Say which files were written: beside the result, or as the one JSON object."""
    if as_json:
        put_json({"written": [str(path) for path in paths]})
    else:
        for path in paths:
            tell(f"written: {path}")


def quoted(path: str | Path) -> str:
    """Return a file name as it is typed in a command line."""
    return shlex.quote(str(path))


def failed(problems: Sequence[Problem], code: int, *, as_json: bool) -> int:
    """Say what is wrong, on stderr or as the one JSON object, and return the exit code."""
    if as_json:
        try:
            put_json(errors_data(problems))
        except OSError as error:
            tell(str(_refused(error)))
    else:
        for problem in problems:
            tell(str(problem))
    return code


def _usage(error: Any, *, as_json: bool) -> int:
    """Say what is wrong with the command line itself, as the parser of options says it."""
    if not as_json:
        error.show()
        return USAGE
    context = getattr(error, "ctx", None)
    path = "samespin" if context is None else context.command_path
    problem = Problem(error.format_message(), instead=f"{path} --help")
    return failed([problem], USAGE, as_json=as_json)


def _fault(error: Exception, *, as_json: bool) -> int:
    if os.environ.get("SAMESPIN_TRACEBACK"):
        import traceback

        tell("".join(traceback.format_exception(error)).rstrip())
    what = f"a fault of samespin: {type(error).__name__}: {error}"
    instead = "please report it; SAMESPIN_TRACEBACK=1 shows where it happened"
    return failed([Problem(what, instead=instead)], FAULT, as_json=as_json)
