"""Put what the demo prints today into the README: `python tests/update_readme.py`."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def main() -> None:
    """Rewrite the block between the demo's two marks."""
    command = [sys.executable, "-m", "optimizer.cli", "solve", "scenarios/juniper.toml"]
    done = subprocess.run(  # noqa: S603 - our own program
        command, cwd=ROOT, capture_output=True, text=True, check=True, encoding="utf-8"
    )
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    block = re.compile(r"(<!-- demo:.*?```text\n).*?(```)", re.DOTALL)
    readme.write_text(block.sub(lambda m: m[1] + done.stdout + m[2], text), encoding="utf-8")


if __name__ == "__main__":
    main()
