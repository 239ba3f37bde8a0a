"""Sections of solids by the plane of x and z, exact where the shape allows it."""
