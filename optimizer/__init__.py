"""From a scenario file to an answer, and the command line around it.

Folders in import order: `mixing`, `ball`, `scenario`, `lineup`, `paper`, `terminal`, `questions`,
`cli`. Start reading at `lineup.pipeline`.
"""

from __future__ import annotations


def version() -> str:
    """Return the version of samespin as it is installed; "uninstalled" in a bare checkout."""
    from importlib import metadata  # noqa: PLC0415  slow, and seldom wanted

    try:
        return metadata.version("samespin")
    except metadata.PackageNotFoundError:
        return "uninstalled"
