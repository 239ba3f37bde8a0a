"""The best line-up on the steps of density that the shop can hold.

`steps` leads: `whole` is the integer program, over the same rows, `bend` bounds their error, so
that the best is proven, `counting` measures candidates.
"""
