"""Pictures: one kind a file; what they are drawn on, and with.

A `Picture` is SVG in the page's own ink: `currentColor`, greys by opacity, and white for what
covers what lies below it, so that three rules of CSS turn it dark. No element has a style of its
own: a page allows only styles and scripts whose hashes are in its policy.
"""
