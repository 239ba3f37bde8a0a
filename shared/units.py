"""Units at the two rims: reading a scenario and writing a report.

Inside there is one system: centimetre, gram, g/cm³, radian.
Inch, pound and ounce are exact by definition (international yard and pound, 1959; NIST SP 811,
appendix B).
"""

from __future__ import annotations

from typing import Final

INCH: Final = 2.54
"""cm in an inch."""
POUND: Final = 453.59237
"""g in a pound."""
OUNCE: Final = POUND / 16
"""g in an ounce."""

LENGTHS: Final = {"in": INCH, "mm": 0.1}
WEIGHTS: Final = {"lb": POUND, "kg": 1000.0}
DENSITIES: Final = {"g/cm3": 1.0, "kg/m3": 0.001}
