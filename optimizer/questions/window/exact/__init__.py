"""Windows of cores on the pin axis.

Each order of its axes gives a weight one convex set of balls (`branch`): the corners of a polytope
(`polytope`, `halfspaces`), sliced at equal RG (`polytope_slices`), joined as `bands`
(`bands_between`, `disjoint_bands`, `plane_boxes`). Weights that share a density are one program in
the plane (`plane_program`, `shared_bands`).
"""
