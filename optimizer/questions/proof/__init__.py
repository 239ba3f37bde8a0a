"""The proofs behind an answer: written by the question that gives it, and checked again."""
