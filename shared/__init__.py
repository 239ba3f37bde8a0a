"""What both packages stand on: errors, units, strict models, tolerances, published figures.

It knows no ball.
"""
