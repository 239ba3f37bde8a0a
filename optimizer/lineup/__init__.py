"""The heart: from a scenario to the densities of a line-up, its margins, or why there is none.

- `pipeline` is the main job; read it first. `group` solves one group of coupled weights: on target,
  within tolerance, or nearest. `stating` and `margins` measure balls at the densities as printed;
  `result` is what comes back, `verdict_words` puts the verdict in words. `claims` can be waived.
- `columns` are the unknowns; `rows` (with `target_rows`, `bound_rows` and, within tolerance,
  `band_rows`) turns every bound of every ball into rows at a point; `engine` climbs by them. Each
  group of coupled weights starts from its own program at mid-range, so memory grows with the
  largest group only.
- A number that is sought is a column, raised in place of the margins (`goal_rows`); `goals` writes
  it into the scenario and solves that. `cheapest` seeks the least cost, `one_share` the share of a
  blend.
- `proof` shows that no line-up exists; `moulds` picks free dimensions.
"""
