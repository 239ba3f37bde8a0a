"""From a line-up to what the foundry weighs and pours: order, masses, and the proof beside them.

`steps` seeks the best line-up on the materials' steps: `whole` is the integer program, over the
same rows, `bend` bounds their error, so that the best is proven, `counting` measures candidates.
`batch` turns a density into grams that the `scales` can show, and those grams back into a density;
`casting` orders the pours from the innermost out; `schedule` measures the balls that result, and
`worksheet` is the proof, rounded as printed. `shop` is the scenario's [foundry].
"""
