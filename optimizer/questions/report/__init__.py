"""The report: one page to look at a line-up, to try densities, and to check the figures.

It computes only the figures' second way (`Part.moments_by_surface`), and carries the solution as
data, which `line_up.saved` reads like a file.
"""
