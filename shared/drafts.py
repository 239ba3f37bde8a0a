"""Where a file is written before it is moved into place, so that no one sees it half written."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def draft(path: Path) -> Path:
    """Return a hidden path beside `path`, with a short name even if that of `path` is long."""
    name = hashlib.sha256(os.fsencode(path.name)).hexdigest()[:16]
    return path.with_name(f".{name}.{os.getpid()}.part")
