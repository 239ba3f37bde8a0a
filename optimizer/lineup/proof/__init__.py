"""Proofs that there is no line-up.

`proof` splits `boxes` of line-ups until the outer relaxation of each (`relaxation`, `affine`) is
empty. Off the pin axis, where the axes turn with the densities, `cones` hold them: `tilted` has the
rows, `turning` splits the boxes. Rows may assume nothing about signs, order or ranges: a test
checks random balls against every row of the boxes they are in.
"""
