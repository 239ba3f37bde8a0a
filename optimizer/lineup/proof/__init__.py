"""Proofs that there is no line-up.

`proof` splits `boxes` of line-ups until the outer relaxation of each (`relaxation`, `affine`) is
empty. A row there may assume nothing of signs, order or ranges: a test holds random balls against
every row of the boxes that they are in.
"""
