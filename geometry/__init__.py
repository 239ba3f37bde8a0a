"""Solids to moments: shapes, where they sit, what is left of each, and the walls between them.

    shape (outline, profile) → moments → placed part → region (its own material) → mass properties

Lengths are centimetres. The origin is the ball's geometric centre, +z goes through the pin (the top
of the core), x and y span the equator.
"""
