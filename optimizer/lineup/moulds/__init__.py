"""The search for free dimensions, which are columns beside the densities.

`walk` solves the densities of each mould; one program over all columns, with the dimensions on a
trust region, then leads to the next mould. `starts` runs one start, `rack` bounds choices from the
rack, `search` picks the best, `chosen` rounds the mould, which is then solved like any other.
`pools` runs independent tasks: here, in other processes beside it, or on a `cluster`.
"""
