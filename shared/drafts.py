"""Where a file is written before it is moved to its place: nobody sees it half written."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def draft(path: Path) -> Path:
    """Return a hidden place beside `path`, of a short name however long the name of `path` is."""
    name = hashlib.sha256(os.fsencode(path.name)).hexdigest()[:16]
    return path.with_name(f".{name}.{os.getpid()}.part")
