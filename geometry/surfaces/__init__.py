"""Surfaces in patches of one formula, and their motion as a dimension grows."""
