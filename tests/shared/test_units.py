"""Units against their definitions."""

from __future__ import annotations

import math

from shared.units import DENSITIES, INCH, LENGTHS, OUNCE, POUND, WEIGHTS


def test_units_are_exact_by_definition():
    """Yard 0.9144 m and pound 0.45359237 kg, international agreement of 1959 (NIST SP 811, B.6)."""
    assert math.isclose(36 * INCH, 91.44, rel_tol=1e-15)
    assert POUND == 453.59237
    assert OUNCE == 28.349523125


def test_tables_hold_ours_in_one_unit_of_the_text():
    """Inside: cm, g, g/cm³. 1 in = 2.54 cm, 10 mm = 1 cm, 1 kg = 1000 g, 1000 kg/m³ = 1 g/cm³."""
    assert {name: unit.size for name, unit in LENGTHS.items()} == {"in": 2.54, "mm": 0.1}
    assert {name: unit.size for name, unit in WEIGHTS.items()} == {"lb": POUND, "kg": 1000.0}
    assert DENSITIES["g/cm3"].size == 1.0
    assert math.isclose(1000 * DENSITIES["kg/m3"].size, 1.0)
