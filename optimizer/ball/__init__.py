"""One weight class as a linear map, and all that can be asked of its balls.

`weight_class` is the map from densities to moments, and a `Ball` on it; `sought` is what varies.
`figures` measure a ball, each with its slope. `bounds` are what is asked of figures, and margins
how far a ball is from them.
`targets` has the target's equations, `linear_rows` what a linear program is made of, `limits` the
table of that name.
"""
