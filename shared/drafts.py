"""Where a file is written before it is moved into place, so that no one sees it half written."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

DRAFT: Final = re.compile(r"\.samespin-[0-9a-f]{16}\.[0-9a-f]{8}\.part")
LEFT: Final = 24 * 3600.0
"""s after which a draft is taken to be of a killed run."""


def draft(path: Path) -> Path:
    """Return a hidden path beside `path`, with a short name even if that of `path` is long.

    No other run has it, not even one in a container, whose process has the same number.
    """
    return path.with_name(f"{_stem(path)}{secrets.token_hex(4)}.part")


def clear(path: Path) -> None:
    """Delete the drafts of `path` that killed runs have left."""
    with suppress(OSError):
        for left in path.parent.glob(f"{_stem(path)}*.part"):
            with suppress(OSError):
                if time.time() - left.stat().st_mtime > LEFT:
                    left.unlink()


@contextmanager
def replaced(path: Path) -> Iterator[Path]:
    """Give a draft to write, which takes the place of `path` if all goes well."""
    clear(path)
    new = draft(path)
    try:
        yield new
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)


def _stem(path: Path) -> str:
    name = hashlib.sha256(os.fsencode(path.name)).hexdigest()[:16]
    return f".samespin-{name}."
