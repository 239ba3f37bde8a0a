"""A line-up, or the nearest to one: its screen, its data, its balls in section, and read back.

`page` and `data` state a result, `table` is its line-up. `saved` reads a solution or a page and
measures it again: its `agreement` holds every key of `measured_data` against what is saved, so a
key that is added there makes older files be solved again.
"""
