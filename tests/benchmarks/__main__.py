"""Everything that is measured, on one page: ratios side by side, with the machine and versions.

    make bench                                   # some six minutes
    PYTHONPATH=tests python -m benchmarks --only moments window -o FILE.md

Times are processor time, the least of a few runs; what is compared runs in one process, in turn.
Where two ways must agree, they are checked against each other first: if they don't, it fails.
"""

from __future__ import annotations

import argparse
import os
import platform
import time
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from benchmarks import (
    commands,
    growth,
    moments,
    programs,
    proofs,
    race,
    reading,
    tolerance,
    walls,
    window,
)
from benchmarks.measuring import WIDTH, Section, markdown, show
from rich.console import Console

MODULES = {
    module.__name__.rpartition(".")[2]: module
    for module in (
        moments,
        walls,
        reading,
        programs,
        proofs,
        window,
        tolerance,
        race,
        commands,
        growth,
    )
}
LIBRARIES = ("numpy", "scipy", "highspy", "cvxpy", "pydantic", "rich", "trimesh")
KERNEL = "cadquery-ocp-novtk"


def machine() -> Section:
    """Return what all is measured on."""
    about = Path("/proc/cpuinfo")
    names = [
        line.partition(":")[2].strip()
        for line in (about.read_text(encoding="utf-8").splitlines() if about.exists() else ())
        if line.startswith("model name")
    ]
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    libraries = [f"{name} {version(name)}" for name in LIBRARIES]
    try:
        libraries.append(f"{KERNEL} {version(KERNEL)}")
    except PackageNotFoundError:
        libraries.append("no CAD kernel")
    return Section(
        "Machine",
        ("processor", "cores", "load", "system", "Python"),
        [
            (
                names[0] if names else platform.processor(),
                str(os.cpu_count()),
                load,
                f"{platform.system()} {platform.machine()}",
                platform.python_version(),
            )
        ],
        ", ".join(libraries),
    )


def main() -> None:
    """Print the page."""
    options = argparse.ArgumentParser(prog="benchmarks", description=__doc__)
    options.add_argument("--only", choices=MODULES, nargs="+", default=list(MODULES))
    options.add_argument("-o", type=Path, help="also write the page as Markdown")
    asked, console = options.parse_args(), Console(width=WIDTH, highlight=False)
    begun, page = time.perf_counter(), [machine()]
    show(page[0], console)
    for name in asked.only:
        for section in MODULES[name].sections():
            page.append(section)
            show(section, console)
    console.print(f"in {time.perf_counter() - begun:.0f} s")
    if asked.o:
        asked.o.write_text("\n".join(map(markdown, page)), encoding="utf-8")


if __name__ == "__main__":
    main()
