"""Many moulds: table, screen, data and picture.

Rows are written to the `table` as they are done, so that memory stays flat and a run can continue.
"""
