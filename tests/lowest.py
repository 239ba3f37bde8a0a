"""The lowest version of each package that pyproject.toml declares, for `make lowest`.

Printed as constraints for pip; with --tests instead, the tests that use each package a little.
"""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
EXTRAS = ("cad", "cluster", "sheets", "tables")
"""Not `step`, whose package is large, nor what only developers use."""
TESTS = (
    "tests/geometry/mesh/test_moments.py",  # trimesh
    "tests/geometry/shapes/test_dxf_outlines.py",  # ezdxf
    "tests/optimizer/cli/test_process.py",  # typer, rich
    "tests/optimizer/questions/schedule/test_steps.py",  # integer programs by highspy
    "tests/optimizer/lineup/test_integers.py",  # and those with margins
    "tests/optimizer/lineup/test_optimum.py",  # cvxpy
    "tests/optimizer/lineup/test_pools.py",  # distributed
    "tests/optimizer/paper/test_dxf.py",
    "tests/optimizer/questions/explore/test_explore_page.py",  # pyarrow
    "tests/optimizer/paper/test_xlsx.py",  # xlsxwriter, openpyxl
    "tests/optimizer/scenario/test_schema.py",  # pydantic
    "tests/optimizer/spread",  # scipy's distributions and Sobol points, cvxpy
)


def constraints() -> list[str]:
    """Return name==version of every package that is declared as name>=version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    declared = [*project["dependencies"], *(one for name in EXTRAS for one in extras[name])]
    return [re.sub(r"^([\w-]+)>=([\w.]+)$", r"\1==\2", one) for one in declared]


def main() -> None:
    """Print them, a line each."""
    sys.stdout.write("\n".join(TESTS if "--tests" in sys.argv else constraints()) + "\n")


if __name__ == "__main__":
    main()
