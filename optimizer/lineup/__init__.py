"""The heart: from a scenario to the densities of a line-up, its margins, or why there is none."""
