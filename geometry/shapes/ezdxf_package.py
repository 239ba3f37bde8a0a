"""The import of ezdxf, which keeps a list of the system's fonts in the user's home."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

PLACES: Final = ("HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME")


def ezdxf_package() -> Any:
    """Return ezdxf, even without a home, or if a killed run has left half a list there."""
    try:
        import ezdxf  # noqa: PLC0415 - an extra, and heavy
    except (RuntimeError, ValueError):
        with _nowhere():
            import ezdxf  # noqa: PLC0415
    return ezdxf


@contextmanager
def _nowhere() -> Iterator[None]:
    """Let nothing be found or kept in the user's home, in this context."""
    before = {name: os.environ.get(name) for name in PLACES}
    os.environ.update(dict.fromkeys(PLACES, os.devnull))
    try:
        yield
    finally:
        for name, value in before.items():
            os.environ.pop(name)
            if value is not None:
                os.environ[name] = value
