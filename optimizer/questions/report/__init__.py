"""The report: one page on which a line-up is looked at, tried, checked and rebuilt.

It computes only the second way to the same figures (`geometry.flux`), and carries the solution as
data, which `report.solution.saved` reads like a file.
"""
