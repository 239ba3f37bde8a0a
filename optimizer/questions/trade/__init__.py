"""The smallest margin against one free figure of the target: `solve --trade`.

`trade` draws it; `along` holds the figure at a value, `curve` refines and finds the kinks.
"""
