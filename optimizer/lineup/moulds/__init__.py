"""The search for free dimensions, which are columns beside the densities.

`walk` settles the densities at each mould, then takes one program over all columns, with the
dimensions on a trust region, to the next mould. `starts` is one start, `rack` bounds choices from
the rack, `search` picks, `chosen` states the mould, which is then solved like any other. `pools`
runs independent pieces: here, in processes, or on a cluster.
"""
