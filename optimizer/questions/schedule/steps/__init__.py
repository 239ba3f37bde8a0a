"""The best line-up on the steps of density that the shop can hold.

`steps` runs the search: `whole` is the integer program over the same rows, and `counting` measures
candidates. `nearer` proves that nothing else is nearer to the targets.
"""
