"""Sections of solids by the x-z plane, exact if the shape allows it."""
