"""The report: one page on which a line-up is looked at, tried, checked and rebuilt.

It computes only the second way to the same figures (`flux_moments`), and carries the solution as
data, which `line_up.saved` reads like a file.
"""
