"""The heart: from a scenario to the densities of a line-up, its margins, or why there is none.

- `pipeline` is the main job, read it first. `group` solves one group of coupled weights: on target,
  within tolerance, or nearest. `stating` and `margins` measure balls as stated; `result` is what
  comes back, `known` says in words what is known.
- `columns` are the unknowns; `rows` turns every bound of every ball into rows at a point; `engine`
  climbs over them, warm through HiGHS (`solve`); `search` chooses the starts: the pin on the low-RG
  axis, other axes, seeded random. Each group of coupled weights starts from its own program at
  mid-range, so memory grows with the largest group only.
- `proof` splits `boxes` of line-ups until the outer relaxation of each (`outer`, `affine`) is
  empty. A row there may assume nothing of signs, order or ranges: a test holds random balls against
  every row of the boxes that they are in.
- Free dimensions are columns beside the densities. `walk` settles the densities at each mould, then
  takes one program over all columns, with the dimensions on a trust region, to the next mould.
  `starts` is one start, `rack` bounds choices from the rack, `moulds` picks, `chosen` states the
  mould, which is then solved like any other.
- `program` states the same program in cvxpy, for `solve --second-opinion` and a test; a plain solve
  never imports it. `pools` runs independent pieces: here, in processes, or on a cluster.
"""
