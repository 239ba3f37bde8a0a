"""From ingredients to densities, and back to what is weighed. It knows nothing of balls.

Everything is a volume fraction of the cured, void-free material, in which the loading of the wet
mix bounds the sum of the fillers. So each end of a density range is one filler at that bound, and
the best `mix` has at most two fillers (`recipe`). `pourability` turns a viscosity into a loading.
"""
