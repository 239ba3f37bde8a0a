"""The best line-up on the steps of density that the shop can hold.

`steps` runs the search: `whole` is the integer program over the same rows, and `counting` measures
candidates. A `group` is an outcome; `nearer` proves that nothing is nearer to its targets.
"""
