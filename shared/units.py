"""Units at the two rims: reading a scenario and writing a report.

Inside there is one system: centimetre, gram, g/cm³, radian. To add a unit, write its row. Inch,
pound and ounce are exact by definition (international yard and pound, 1959; NIST SP 811, appendix
B).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

INCH: Final = 2.54
"""cm in an inch."""
POUND: Final = 453.59237
"""g in a pound."""
OUNCE: Final = POUND / 16
"""g in an ounce."""


@dataclass(frozen=True)
class UnitOf:
    """A unit: its name in a text, its size in ours, and its digits in a report.

    Changes are rounded outward to `step`. `printed` is its name on paper.
    """

    name: str
    size: float
    digits: int
    step: float
    printed: str


@dataclass(frozen=True)
class LengthUnit:
    """A unit of length: its name in a text, cm in it, its word, and its code in DXF ($INSUNITS).

    A scenario may be written in those that have `digits` in a report and a `small` change.
    """

    name: str
    size: float
    word: str
    dxf: int
    digits: int = 0
    small: float = 0.0

    @property
    def words(self) -> str:
        """The plural of its word."""
        return f"{self.word}es" if self.word.endswith("ch") else f"{self.word}s"


FILE_LENGTHS: Final = (
    LengthUnit("in", INCH, "inch", 1, digits=3, small=0.01),
    LengthUnit("mm", 0.1, "millimetre", 4, digits=2, small=0.25),
    LengthUnit("cm", 1.0, "centimetre", 5),
    LengthUnit("m", 100.0, "metre", 6),
)
"""The units that drawings and meshes may be in."""
LENGTHS: Final[Mapping[str, LengthUnit]] = {u.name: u for u in FILE_LENGTHS if u.digits}
SAYING: Final = " or ".join(f'unit = "{name}"' for name in LENGTHS)
"""How a text gives the unit of a file."""
WEIGHTS: Final[Mapping[str, UnitOf]] = {
    u.name: u for u in (UnitOf("lb", POUND, 3, 0.001, "lb"), UnitOf("kg", 1000.0, 3, 0.001, "kg"))
}
DENSITIES: Final[Mapping[str, UnitOf]] = {
    u.name: u
    for u in (UnitOf("g/cm3", 1.0, 4, 0.001, "g/cm³"), UnitOf("kg/m3", 0.001, 1, 1.0, "kg/m³"))
}
IMBALANCE: Final = UnitOf("oz", OUNCE, 2, 0.01, "oz")
"""The unit of static imbalance, whatever a scenario's units are."""

if TYPE_CHECKING:
    LengthName: TypeAlias = str
    WeightName: TypeAlias = str
    DensityName: TypeAlias = str
else:
    LengthName = Literal[*LENGTHS]
    WeightName = Literal[*WEIGHTS]
    DensityName = Literal[*DENSITIES]


def of_length(name: str, *, radius: bool = False) -> UnitOf:
    """Return a unit of length for a report; changes of a `radius` of gyration are finer."""
    unit = LENGTHS[name]
    step = 10.0 ** -(unit.digits + radius)
    return UnitOf(name, unit.size, unit.digits, step, name)
