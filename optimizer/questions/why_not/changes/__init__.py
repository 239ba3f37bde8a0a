"""Numbers of a scenario moved as little as will do.

`moves` are the numbers that may change; the engine finds the least that will do (`least_moves`,
`singles`, `redrawn`), `pairs` prices every two, `ruled` keeps moves to the rulebook, `remedies`
writes them into the text (`changes`), reads that and solves it before a word is said.
`shared_target` seeks a target for the whole line.
"""
