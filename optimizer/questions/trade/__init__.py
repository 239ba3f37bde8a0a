"""The smallest margin against one free figure of the target: `solve --trade`.

`trade` leads; `held_figure` solves at one value of the figure, `curve` refines and finds the kinks.
"""
