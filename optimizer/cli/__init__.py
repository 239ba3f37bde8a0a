"""The command line: one file a command, each parse → call → render → exit code."""

from __future__ import annotations


def main() -> None:
    """Run the command that was typed, and leave with its exit code."""
    import sys

    from optimizer.cli.app import run

    sys.exit(run(sys.argv[1:]))
