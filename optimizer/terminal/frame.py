"""What all commands share: exit codes, the two streams, and the handling of errors.

The result goes to stdout, everything else to stderr. With --json stdout gets one JSON object and
nothing else, even for errors.
"""

from __future__ import annotations

import io
import os
import shlex
import sys
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TextIO

import typer

from optimizer.terminal import interrupts, progress
from shared import stopping, what_if
from shared.errors import InputError, Problem, SamespinError, errors_data, told
from shared.letters import safe

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
"""The exit code of a line-up's status."""


class Said(int):
    """An exit code whose message is already printed: the result so far is shown."""


def guarded(command: Callable[[], Any], *, as_json: bool) -> int:
    """Run `command` and return its exit code, whatever happens."""
    result: Any = DONE
    try:
        with progress.progress(hidden=as_json):
            result = command() or DONE
        code = int(result)
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    except Exception as error:  # noqa: BLE001  the last resort: reported in one line, never silent
        if not stopping.asked():  # else an import or C code has turned the interrupt into it
            return _ended_by(error, as_json=as_json)
        code = INTERRUPTED
    if code == INTERRUPTED and not isinstance(result, Said):  # typer, too, returns it for a signal
        return interrupts.told(as_json=as_json)
    return code


def _ended_by(error: Exception, *, as_json: bool) -> int:
    """Report what ended a command, and return its exit code."""
    if isinstance(error, SamespinError):
        problems = error.problems if isinstance(error, InputError) else [Problem(str(error))]
        return failed(problems, error.exit_code, as_json=as_json)
    if isinstance(error, OSError):  # of the disk, or of permissions: for the user to fix
        on_file = error.filename is not None  # else stdout itself has failed: use stderr
        return failed([_refused(error)], INPUT, as_json=as_json and on_file)
    if hasattr(error, "format_message"):
        return _usage(error, as_json=as_json)
    return _fault(error, as_json=as_json)


def put(text: str) -> None:
    """Write the result."""
    with _output() as stream:
        stream.write(text)


@contextmanager
def _output() -> Iterator[TextIO]:
    """Give the stream of the result; a reader that hangs up (`| head`) ends it quietly."""
    progress.end()
    try:
        yield sys.stdout
        sys.stdout.flush()
    except BrokenPipeError:
        let_go_of(sys.stdout)


def _refused(error: OSError) -> Problem:
    """Return the problem of a file, or an output, that the system refuses."""
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
    """Write a document for the reader, and the next command to type."""
    from optimizer.paper.document import Paragraph
    from optimizer.paper.writers import console

    after = () if following is None else (Paragraph(f"Next: {following}"),)
    with _output() as stream:
        console.write((*blocks, *after), stream)


def answer(
    report: Report, following: str | None, paths: Collection[Path], *, as_json: bool
) -> None:
    """Show a report, or print its data, and name the files written (in JSON, only these)."""
    if not as_json:
        show(report.blocks, following)
    if paths:
        written(paths, as_json=as_json)
    elif as_json:
        put_json(report.data)


def tell(text: str) -> None:
    """Write a message to stderr, if anyone reads it, whatever names are in it."""
    try:
        with progress.wiped():
            sys.stderr.write("\n".join([*map(safe, text.split("\n")), ""]))
            sys.stderr.flush()
    except OSError:  # nobody reads it, or the disk is full: the exit code still tells
        let_go_of(sys.stderr)


def let_go_of(stream: TextIO) -> None:
    """Point a stream at the null device, so that the interpreter's last flush can't fail."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def written(paths: Iterable[Path], *, as_json: bool) -> None:
    """Name the files written, on stderr or as the one JSON object."""
    if as_json:
        put_json({"written": [str(path) for path in paths]})
    else:
        for path in paths:
            tell(f"written: {path}")


def quoted(path: str | Path) -> str:
    """Return a file name as typed on a command line."""
    return shlex.quote(str(path))


def again(source: str | Path) -> str:
    """Return a file as typed for the next command, with what this one was asked to change in it."""
    return f"{quoted(source)}{what_if.asked().options}"


def failed(problems: Sequence[Problem], code: int, *, as_json: bool) -> int:
    """Report the problems, on stderr or as the one JSON object, and return the exit code."""
    if as_json:
        try:
            put_json(errors_data(problems))
        except OSError as error:
            tell(str(_refused(error)))
    else:
        for line in told(problems):
            tell(line)
    return code


def _usage(error: Any, *, as_json: bool) -> int:
    """Report an error in the command line, in the option parser's words."""
    if not as_json:
        shown = io.StringIO()
        error.show(file=shown)
        tell(shown.getvalue().rstrip("\n"))
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
