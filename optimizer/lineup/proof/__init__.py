"""Proofs that there is no line-up.

`proof` splits `boxes` of line-ups until the outer relaxation of each (`relaxation`, `affine`) is
empty. Its rows may assume nothing about signs, order or ranges: a test checks random balls against
every row of the boxes they are in.
"""
