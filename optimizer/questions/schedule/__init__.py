"""The schedule for the foundry, and sheets that come back.

`page` and `data` state a schedule, both from one `Schedule`. `sheet_read` reads rows of a sheet
that went out, `sheet_back` compares them with those that would be written now (`writers.lines`).
"""
