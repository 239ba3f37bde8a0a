"""The only reader of scenario files, its errors, and the way back to the text.

- In: `read` finds every error at once. `source` knows the text: `files` parses the TOML,
  `positions` knows where each key stands, `attachments` are files that a scenario names. `text` is
  the grammar. `checks` say what is wrong, and check what one table can't.
- As the program sees it: `scenario` (a mould for each weight class), `weight_classes` (linear maps
  with their bounds), `moulds` (free dimensions, with derivatives), `recipes` (fills the ranges of
  pours; from there on a recipe's range is like any other).
- Back: `source.editing` splices values into the text, `source.writing` writes parts and
  fingerprints, `release` lets named dimensions go again.

Weights need not have the same parts (`only_in`). `standing` in `source.content` says which stand
where, `having` in `dimensions` which dimensions follow. A `ClassDrawing` and its `LinearMap` hold
only their own parts, so an index of a part is valid in one weight only; across weights go by name.
"""

from __future__ import annotations

from optimizer.scenario.read import read_again, read_scenario, scenario
from optimizer.scenario.scenario import ClassDrawing, Scenario, Written
from optimizer.scenario.weight_classes import linear_maps

__all__ = [
    "ClassDrawing",
    "Scenario",
    "Written",
    "linear_maps",
    "read_again",
    "read_scenario",
    "scenario",
]
