"""A checker of proofs in exact rational arithmetic. It knows the standard library and nothing else.

A proof says that no line-up meets a question. A `question` holds the numbers: the moments of each
part at unit density, with the error they may have, ranges of densities, limits. Its proof is a tree
of boxes (`tree`): a node covers its box by smaller ones, and a leaf has multipliers for `rows` that
every line-up of its box satisfies. They add up to something that no densities in the box can have.
A `witness` is a line-up whose figures are measured, as exactly. `groupings` count the pours that
every line-up needs, from such trees.

The rows are derived here anew, from their kinds and parameters. Nothing is taken from the program
that found a proof but numbers, and none is rounded.
"""
