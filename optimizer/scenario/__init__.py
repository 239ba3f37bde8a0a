"""The only reader of scenario files, its errors, and the way back to the text.

- In: `read` finds every error at once. `source` handles the text: `files` parses the TOML,
  `positions` locates each key, `attachments` reads files that a scenario names, `what_if` changes
  the text as --set and --case ask. `text` is the grammar. `checks` report mistakes, and check what
  no single table can.
- As the program sees it: `scenario` (a mould for each weight class), `weight_classes` (linear maps
  with their bounds), `moulds` (free dimensions, with derivatives), `recipes` (the ranges of pours;
  from there on a recipe's range is like any other).
- Back: `source.editing` splices values into the text, `source.writing` writes parts and
  fingerprints, `release` frees named dimensions again.

Weights need not have the same parts (`only_in`): `standing` in `source.content` says which part is
in which weight, `having` in `dimensions` the same of dimensions. A `ClassDrawing` and its
`LinearMap` hold only their own parts, so the index of a part is valid in one weight only; across
weights, use names.
"""

from __future__ import annotations

from optimizer.scenario.read import read_again, read_changed, read_scenario, scenario
from optimizer.scenario.scenario import ClassDrawing, Scenario, Written
from optimizer.scenario.weight_classes import linear_maps

__all__ = [
    "ClassDrawing",
    "Scenario",
    "Written",
    "linear_maps",
    "read_again",
    "read_changed",
    "read_scenario",
    "scenario",
]
