"""Proofs that there is no line-up.

`proof` splits `boxes` of line-ups until the outer relaxation of each is empty: `known` has what is
asked, and the figures that are linear in its columns, `relaxation` its rows (`affine`). `splitting`
says which box comes next, `places` where no CG can be (by a `quotient`). Off the pin axis, where
the axes turn with the densities, `cones` hold them: `tilted_columns` has what is known, `tilted`
the rows, `turning` splits the boxes. Rows may assume nothing about signs, order or ranges: a test
checks random balls against every row of the boxes they are in.

`ceiling` asks the same relaxation how much room a line-up can have. `question` and `evidence` put
what is asked and shown (`duality`) as `optimizer.certificate` checks it.
"""
