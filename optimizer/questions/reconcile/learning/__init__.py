"""How far the shop's densities are really spread.

`readings` are all measurements as one linear model, `learned` the spreads that make them likeliest;
`text` writes these into the scenario, `page` tells them, `control_chart` draws ball after ball.
"""
