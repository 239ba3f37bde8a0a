"""The command line: one file a command, each parse → call → render → exit code."""

from __future__ import annotations


def main() -> None:
    """Run the command that was typed, and leave with its exit code."""
    import io
    import os
    import sys

    from optimizer.cli.app import run

    if sys.stdout is None:  # closed (`>&-`): what is written is refused by the system, and told
        sys.stdout = os.fdopen(os.open(os.devnull, os.O_RDONLY), "w", encoding="utf-8")
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")
    if isinstance(sys.stdout, io.TextIOWrapper):  # a screen that lacks a sign shows another one
        utf8 = "utf-8" if "--json" in sys.argv else None
        sys.stdout.reconfigure(encoding=utf8, errors="replace")
    sys.exit(run(sys.argv[1:]))
