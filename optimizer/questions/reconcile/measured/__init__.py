"""What is measured: `measurements` are the kinds of readings, and the gauges that make them.

`file` reads a file of them, `row` by row; `template` writes one to fill in.
"""
