"""What the foundry weighs and pours: order, masses, and the proof beside them.

`batch` turns a density into grams that the `scales` can show, and those grams back into a density;
`casting` orders the pours from the innermost out; `schedule` measures the balls that result, and
`worksheet` is the proof, rounded as printed. `half_cast` is the table that brings a half-cast ball
back, `trust` how far it may be trusted. `shop` is the scenario's [foundry].
"""
