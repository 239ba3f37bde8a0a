"""Proofs that no line-up exists: boxes of line-ups, each with an empty outer relaxation."""
