"""A panel on a page that measures a ball at densities tried by hand.

It carries the regions' moments, not a solver. `ball.js` measures a limit's figure by its key; a
test fails for a limit that the page can't measure.
"""
