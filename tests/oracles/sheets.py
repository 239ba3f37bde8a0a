"""A printed schedule read again with nothing but its own numbers, by mixing and parallel axes.

Reads the cells of a CSV sheet, whatever unit its densities are in; knows nothing of the package.
Volumes add: what is weighed has the volume of its ingredients as counted, the resin's shrunk, and
the voids on top.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

Row = Sequence[str]


@dataclass(frozen=True)
class Poured:
    """A ball as weighed out: true mass (g), sorted RGs (cm), and each part's density (g/cm³).

    `batches` are those of each part, as they stand on the sheet.
    """

    name: str
    mass: float
    radii: np.ndarray
    densities: dict[str, float]
    batches: dict[str, list[Batch]]


@dataclass(frozen=True)
class Batch:
    """One batch: its lines (ingredient, g …), and what else is said of it by the rows' names."""

    lines: list[Row]
    rows: dict[str, Row]

    @property
    def needed(self) -> float:
        """What its pours take, g, with what stays in the mixer: from the words beside the whole."""
        count, pour = re.match(
            r"for (\d+) pours? of ([\d.]+) g", self.rows["whole batch"][4]
        ).groups()
        stays = re.search(r"([\d.]+) % stays in the mixer", self.rows["whole batch"][4])
        return int(count) * float(pour) / (1.0 - float(stays[1] if stays else 0.0) / 100.0)


def poured(text: str, about: str) -> list[Poured]:
    """Return the balls of each sheet, about "cg" or "centre"."""
    rows = list(csv.reader(io.StringIO(text, newline="")))
    starts = [i for i, row in enumerate(rows) if row and row[0] == "title block"]
    line, *classes = (rows[a:b] for a, b in zip(starts, [*starts[1:], len(rows)], strict=True))
    header = next(row for row in line if row and row[0] == "ingredient")
    unit = {"counted as, g/cm³": 1.0, "counted as, kg/m³": 1000.0}[header[1]]
    counted = {
        row[0]: float(row[1]) / unit
        for row in table(line, "ingredient")
        if row[1].strip("'") not in {"-", ""}
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
        density = densities[part] = _mixed(weighed[part][0].lines, counted, recipes[material])
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
    return Poured(name, mass, np.sqrt(np.linalg.eigvalsh(second) / mass), densities, weighed)


def _weighed(rows: Sequence[Row]) -> dict[str, list[Batch]]:
    """Return the batches of each part: a line with its class and name stands above each."""
    found: dict[str, list[Batch]] = {}
    start = next(i for i, row in enumerate(rows) if row and row[0] == "to weigh")
    for row in rows[start + 1 :]:
        if not row:
            break
        if len(row) == 1:
            part = re.match(r".*?, (.*), batch \d+ of \d+: ", row[0])[1]
            found.setdefault(part, []).append(Batch([], {}))
        elif row[3]:
            found[part][-1].lines.append(row)
        else:
            found[part][-1].rows[row[0]] = row
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
