"""Check a file of proofs by the standard library alone: python -m optimizer.certificate FILE."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from optimizer.certificate.claims import outcomes


def main(*files: str) -> int:
    """Print a line for each claim of a file; return 0 if all hold, 4 if not, 3: no such file."""
    if len(files) != 1:
        sys.stderr.write("name one file: python -m optimizer.certificate FILE\n")
        return 2
    try:
        every = list(outcomes(json.loads(Path(files[0]).read_text("utf-8"))))
    except (OSError, ValueError, RecursionError) as error:
        sys.stderr.write(f"{files[0]}: {error}\n")
        return 3
    for outcome in every:
        shown = "exists" if outcome.figures else "proven"
        known = "NOT PROVEN" if outcome.wrong else shown
        why = f" ({outcome.wrong})" if outcome.wrong else ""
        sys.stdout.write(f"{known}: {outcome.about}{why}\n")
    return 4 if any(outcome.wrong for outcome in every) else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
