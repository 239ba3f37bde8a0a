"""Where the next pour goes, or which may go: found, written, and as screen, data and picture.

`forms` yields the parts that the shapes have room for (`space`), each a `form`; a `trial` is a
quick one, `grown` a line solved and what it is worth; `growth` is the search.
"""
