"""Questions asked of the heart.

- Why not, and what then: `diagnosis` leads. `claims` are what can be let go, `conflict` waives them
  one by one as long as the rest is proven impossible (or, where nothing is proven, not found).
  `moves` are the numbers that may change; the engine finds the least that will do (`least_moves`,
  `singles`, `redrawn`), `pairs` prices every two, `ruled` keeps moves to the rulebook, `remedies`
  writes them into the text (`changes`), reads that and solves it before a word is said.
  `shared_target` seeks a target for the whole line. `effort` counts the work, not the time.
- Window: `window` leads. A weight with all parts on the pin axis has one convex set of balls for
  each place of its axes (`branch`): the corners of a polytope (`polytope`, `halfspaces`), sliced at
  equal RG (`slices`), joined as `bands` (`between`, `pieces`, `boxes`), together its `reach`.
  Weights that share a density are one program in the plane (`program`, `chords`), `shared_reach`
  combines them. Other cores are searched slice by slice (`probing`, `slicing`, `sheets`), near a
  neighbour by Newton's method (`settling`, `bound`), from afar by programs (`climbing`), against
  random balls (`crowd`): found, not proven. A test compares the methods where the answer is known.
- Trade: `trade` draws the smallest margin against one free figure; `along` holds it at a value,
  `curve` refines and finds the kinks.
- Sharing: `sharing` counts `pours`; `links` lets HiGHS choose which neighbours are one, and only
  what the engine has solved is told. `mould_sharing` does so for moulds.
- Worth: `worth` moves one number and re-solves (`around`, `shifted`). `levers`: a little more of
  one part.
- Explore: `explore` and `candidate`, one mould at a time. Compare: `compare`, `differences`,
  `fillers`.
- `second_opinion`: the last program again, by another solver.
"""
