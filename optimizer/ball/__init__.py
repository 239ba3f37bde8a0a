"""One weight class as a linear map, and the bounds on its balls.

`weight_class` holds the map from densities to moments, and a `Ball` on it; `sought` the variables.
`figures` measure a ball, each with its slope. `bounds` limit figures; a margin is a ball's distance
from a bound. `targets` holds the target's equations, `linear_rows` the rows of a linear program,
`limits` the scenario's [limits] table.
"""
