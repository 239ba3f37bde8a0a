"""A printed schedule read again with nothing but its own numbers, by mixing and parallel axes.

Reads the cells of a CSV sheet; knows nothing of the package. Volumes add: what is weighed has the
volume of its ingredients as counted, the resin's shrunk, and the voids on top.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

Row = Sequence[str]


@dataclass(frozen=True)
class Poured:
    """A ball as weighed out: true mass (g), sorted RGs (cm), and each part's density (g/cm³)."""

    name: str
    mass: float
    radii: np.ndarray
    densities: dict[str, float]


def poured(text: str, about: str) -> list[Poured]:
    """Return the balls of each sheet, about "cg" or "centre"."""
    rows = list(csv.reader(io.StringIO(text, newline="")))
    starts = [i for i, row in enumerate(rows) if row and row[0] == "title block"]
    line, *classes = (rows[a:b] for a, b in zip(starts, [*starts[1:], len(rows)], strict=True))
    counted = {
        row[0]: float(row[1]) for row in table(line, "ingredient") if row[1] not in {"-", ""}
    }
    recipes = {row[0]: row for row in table(line, "material")}
    return [_ball(rows, counted, recipes, about) for rows in classes]


def _ball(
    rows: Sequence[Row], counted: dict[str, float], recipes: dict[str, Row], about: str
) -> Poured:
    (name,) = (row[1] for row in rows if row[:1] == ["weight class"])
    mass, first, second, densities = 0.0, np.zeros(3), np.zeros((3, 3)), {}
    proof = {row[0]: row[1:] for row in reversed(table(rows, "figure"))}
    weighed = _weighed(rows)
    for k, (part, material, volume, *_) in enumerate(table(rows, "part")):
        density = densities[part] = _mixed(weighed[part], counted, recipes[material])
        m = density * float(volume)
        c = np.array([float(proof[f"CG {axis}, cm"][k]) for axis in "xyz"])
        own = np.zeros((3, 3))
        for i, j in np.ndindex(3, 3):
            axes = "xyz"[i] if i == j else "".join(sorted("xyz"[i] + "xyz"[j]))
            told = proof.get(f"I{axes} about own CG, g cm²")
            value = 0.0 if told is None else float(told[k])
            own[i, j] = value if i == j else -value
        own *= m / float(proof["mass m, g"][k])  # as printed, at the density that is printed
        mass, first = mass + m, first + m * c
        second += own + m * (c @ c * np.eye(3) - np.outer(c, c))
    if about == "cg":
        c = first / mass
        second -= mass * (c @ c * np.eye(3) - np.outer(c, c))
    return Poured(name, mass, np.sqrt(np.linalg.eigvalsh(second) / mass), densities)


def _weighed(rows: Sequence[Row]) -> dict[str, list[Row]]:
    """Return what is weighed for each part: a line with its name stands above."""
    found: dict[str, list[Row]] = {}
    start = next(i for i, row in enumerate(rows) if row and row[0] == "to weigh")
    for row in rows[start + 1 :]:
        if not row:
            break
        if len([cell for cell in row if cell]) == 1:
            lines = found[row[0].partition(":")[0]] = []
        elif row[0] != "whole batch":
            lines.append(row)
    return found


def _mixed(lines: Sequence[Row], counted: dict[str, float], recipe: Row) -> float:
    """Return the density as cast of what is weighed."""
    _, resin, _, shrinkage, void, *_ = recipe
    grams = {row[0]: float(row[2]) for row in lines}
    volume = sum(
        mass / counted[name] * (1.0 - float(shrinkage) if name == resin else 1.0)
        for name, mass in grams.items()
    )
    return (1.0 - float(void)) * sum(grams.values()) / volume


def table(rows: Sequence[Row], first: str) -> list[Row]:
    """Return the rows under the header whose first cell begins so, up to an empty one."""
    return list(_table(rows, first))


def _table(rows: Sequence[Row], first: str) -> Iterator[Row]:
    start = next(i for i, row in enumerate(rows) if len(row) > 1 and row[0].startswith(first))
    for row in rows[start + 1 :]:
        if len(row) <= 1:
            return
        yield row
