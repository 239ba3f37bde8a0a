"""Linear programs, and the search that climbs by them.

`climbing` is sequential linear programming on a warm HiGHS (`linear_solver`); `search` chooses the
starts: the pin on the low-RG axis, other axes, seeded random. `stated_program` states the same
program in cvxpy, for `solve --second-opinion` and a test; a plain solve never imports it.
`whole_solver` minimises over integers, with a bound that holds wherever it stops.
"""
