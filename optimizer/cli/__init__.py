"""The command line: one file for each command, each parse → call → render → exit code."""

from __future__ import annotations


def main() -> None:
    """Run the command line, and exit with its code."""
    import sys

    from optimizer.terminal import interrupts
    from shared import stopping

    as_json = "--json" in sys.argv
    try:
        interrupts.listen(as_json=as_json)
        _open_streams(as_json=as_json)
        from optimizer.cli.app import run

        code = run(sys.argv[1:])
        interrupts.ignore()
    except BaseException:  # an import that is interrupted may raise anything
        if not stopping.asked():
            raise
        interrupts.ignore()
        code = interrupts.told(as_json=as_json)
    sys.exit(code)


def _open_streams(*, as_json: bool) -> None:
    """Make sure that both streams can be written to, whatever this process was given."""
    import io
    import os
    import sys

    if sys.stdout is None:  # closed (`>&-`): the system refuses writes, which is reported
        sys.stdout = os.fdopen(os.open(os.devnull, os.O_RDONLY), "w", encoding="utf-8")
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")
    if isinstance(sys.stdout, io.TextIOWrapper):  # a screen replaces characters that it lacks
        sys.stdout.reconfigure(encoding="utf-8" if as_json else None, errors="replace")
