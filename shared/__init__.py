"""What both packages stand on: errors, units, strict models, tolerances, published figures.

It knows no ball. Anything may report what it is doing to `activity`; `cli.progress` shows it.
"""
