"""The best line-up on the steps of density that the shop can hold.

`steps` runs the search: `whole` is the integer program over the same rows, `bend` bounds their
error, so that the best is proven, and `counting` measures candidates.
"""
