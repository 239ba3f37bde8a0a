"""The only reader of scenario files, its errors, and the way back to the text.

- In: `read` finds every error at once. `files` parses the TOML, `positions` knows where each key
  stands, `text` and its neighbours (`target_text`, `material_text`, `shop`) are the grammar,
  `mistakes` and `wording` say what is wrong. `references`, `parts`, `dimensions` and `fit` check
  what one table can't.
- As the program sees it: `scenario` (a mould for each weight class), `maps` (linear maps with their
  bounds), `moulds` (free dimensions, with derivatives), `recipes` (fills the ranges of pours; from
  there on a recipe's range is like any other), `attachments` (files that a scenario names).
- Back: `editing` splices values into the text, `writing` writes parts and fingerprints, `release`
  lets named dimensions go again.

Weights need not have the same parts (`only_in`). `standing` in `content` says which stand where,
`having` in `dimensions` which dimensions follow. A `WeightClass` and its `LinearMap` hold only
their own parts, so an index of a part is valid in one weight only; across weights go by name.
"""

from __future__ import annotations

from optimizer.scenario.read import read_again, read_scenario, scenario
from optimizer.scenario.scenario import Scenario, WeightClass, Written
from optimizer.scenario.weight_classes import linear_maps

__all__ = [
    "Scenario",
    "WeightClass",
    "Written",
    "linear_maps",
    "read_again",
    "read_scenario",
    "scenario",
]
