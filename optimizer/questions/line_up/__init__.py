"""A line-up, or the nearest one: its screen, its data, its balls in section, and saved solutions.

`page` and `data` show a result, `table` its line-up. `saved` reads a solution or a page and
measures it again: its `agreement` compares every key of `measured_data` with the file, so a new
key there means that older files must be solved again.
"""
