"""A panel on a page that measures a ball at densities tried by hand.

It carries the regions' moments, not a solver. A limit goes by its figure's key, which `ball.js`
measures; a test fails for a limit that the page can't measure.
"""
