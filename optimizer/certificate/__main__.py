"""Check a file of proofs by the standard library alone: python -m optimizer.certificate FILE."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from optimizer.certificate.claims import outcomes


def main(path: str) -> int:
    """Print one line a claim; return 0 where all hold, else 4."""
    every = list(outcomes(json.loads(Path(path).read_text("utf-8"))))
    for outcome in every:
        shown = "exists" if outcome.figures else "proven"
        known = "NOT PROVEN" if outcome.wrong else shown
        sys.stdout.write(
            f"{known}: {outcome.about}{(outcome.wrong and f' ({outcome.wrong})') or ''}\n"
        )
    return 4 if any(outcome.wrong for outcome in every) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
