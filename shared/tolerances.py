"""Numerical tolerances, each with its reason. Shop tolerances are the scenario's, never these."""

from __future__ import annotations

from typing import Final

DENSITY_STEP: Final = 1e-4
"""g/cm³. Densities are stated to a tenth of a kg/m³: at 0.001 the rounding alone would move an RG
by up to 0.0003 in."""

AXIS_GAP: Final = 2.54e-3
"""cm (0.001 in). RGs closer than this, the precision that limits are quoted to, define no axes."""

ROW_ERROR: Final = 2e-5
"""cm². A target row within this is met: at an RG of 6 cm it is 2e-6 cm (7e-7 in), a tenth of the
effect of rounding the stated densities. Where two RGs are within 0.0003 in of each other, the
search ends up to 1e-5 short, from any of 300 starts."""

LEFT_OVER: Final = 4e-6
"""cm, or relative where larger: the error in a difference of two RGs that ROW_ERROR allows."""

ARITHMETIC: Final = 2e-9
"""In a figure's own unit: more than the rounding error of double precision on a ball, and twice the
error of a wall (`ERROR` in `geometry/walls/support_functions.py`): one drawn as thick as its limit
asks keeps it."""

SOLVER: Final = 1e-9
"""HiGHS primal and dual feasibility, in rows scaled to order one."""

LEAST_DUAL: Final = 1e-7
"""A margin with a larger dual is binding at every optimum of the linear program."""

MARGIN: Final = 1e-9
"""Tolerances by which a margin found at one level may shrink at the next."""

TOUCH: Final = 1e-7
"""cm. Surfaces closer than this touch; a part may touch its host from inside."""
