"""Surfaces in patches of one formula, and how they move while a dimension grows."""
