"""A line-up, or why there is none: its screen, its data, and read back.

`page` and `data` state a result, `diagnosis` why there is none. `saved` reads a solution or a page
and measures it again; `agreement` holds every key of `measured_data` against what is saved, so a
key that is added there makes older files be solved again.
"""
