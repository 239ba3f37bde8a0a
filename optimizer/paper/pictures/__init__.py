"""The kit that pictures are drawn with.

A `Picture` is SVG in the page's own ink: `currentColor`, greys by opacity, and white for what hides
lines below it, so that three CSS rules give a dark version. No element has its own style: a page
allows only styles and scripts whose hashes are in its policy.
"""
