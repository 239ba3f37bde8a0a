"""Numbers of a scenario moved as little as necessary.

`moves` lists the numbers that may change, and `redrawn` the dimensions. The engine finds the least
move that is enough (`least_moves`, `single_changes`), `pairs` prices every two, `rulebook` keeps
moves to the rulebook. `remedies` writes them into the text (`changes`), reads it and solves it
before anything is shown. `shared_target` seeks a target for the whole line.
"""
