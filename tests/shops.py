"""Balls cast by shops that are simulated, and what they read of them, by an oracle's figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from oracles import castings

from optimizer.questions.reconcile.aimed import Aimed

POUND, INCH, OUNCE = 453.59237, 2.54, 28.349523125
WHOLE = ("weight", "low rg", "high rg", "top weight")
"""What is read of whole balls, unless something else is asked for."""
NOISE = {
    "casting": 1.0, "weight": 0.005 * POUND, "low rg": 0.002 * INCH, "high rg": 0.002 * INCH,
    "top weight": 0.1 * OUNCE, "differential": 0.001 * INCH,
}  # fmt: skip
"""Standard deviations of single readings, as the program assumes them: g and cm."""
UNIT = {
    "casting": ("g", 1.0), "weight": ("lb", POUND), "low rg": ("in", INCH), "high rg": ("in", INCH),
    "top weight": ("oz", OUNCE), "differential": ("in", INCH),
}  # fmt: skip


@dataclass
class Shop:
    """A shop that pours the balls of a line, with normal errors of density unless `uniform`.

    `held` are the volumes of what lies in each casting, by part: the part's own and others' names.
    """

    aimed: Aimed
    held: Mapping[str, Sequence[str]]
    seed: int = 0
    uniform: bool = False
    bias: Mapping[str, float] = field(default_factory=dict)
    lines: list[str] = field(default_factory=lambda: ["ball,label,measurement,of,value,unit"])
    poured: dict[str, dict[str, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.random = np.random.default_rng(self.seed)

    def errors(self, tolerance: np.ndarray) -> np.ndarray:
        """Errors of densities, of the standard deviation of a uniform ± tolerance."""
        if self.uniform:
            return self.random.uniform(-1.0, 1.0, len(tolerance)) * tolerance
        return self.random.normal(size=len(tolerance)) * tolerance / np.sqrt(3.0)

    def cast(
        self,
        ball: str,
        label: str,
        weighed: Sequence[str] = (),
        read: Sequence[str] = WHOLE,
        *,
        typo: float = 0.0,
        densities: np.ndarray | None = None,
    ) -> None:
        """Pour a ball and read it; `typo`, lb, is added to what is written as its weight."""
        of = self.aimed.models[label].ball
        names = [pour.part for pour in of.map.pours]
        rho = densities
        if rho is None:
            tolerance = np.array([pour.tolerance or 0.0 for pour in of.map.pours])
            bias = np.array([self.bias.get(name, 0.0) for name in names])
            rho = of.densities + bias + self.errors(tolerance)
        self.poured[ball] = dict(zip(names, rho.tolist(), strict=True))
        moments = np.asarray(of.map.moments)
        weight, low, differential = castings.figures(moments, rho[None])[0]
        first = np.linalg.norm(np.einsum("n,nij->ij", rho, moments)[:3, 3])
        values = {
            "weight": weight + typo * POUND,
            "low rg": low,
            "high rg": low + differential,
            "differential": differential,
            "top weight": first / of.map.arm,
        }
        volumes = dict(zip(names, moments[:, 3, 3].tolist(), strict=True))
        for part in weighed:
            inside = (part, *self.held[part])
            mass = sum(volumes[name] * self.poured[ball][name] for name in inside)
            self._row(ball, label, "casting", part, mass)
        for name in read:
            self._row(ball, label, name, "", values[name])

    def _row(self, ball: str, label: str, name: str, of: str, value: float) -> None:
        unit, size = UNIT[name]
        shown = (value + NOISE[name] * self.random.normal()) / size
        self.lines.append(f"{ball},{label},{name},{of},{shown:.9g},{unit}")

    def file(self, folder: Path) -> Path:
        """The file of all readings."""
        path = folder / "measured.csv"
        path.write_text("\n".join(self.lines) + "\n", encoding="utf-8")
        return path
