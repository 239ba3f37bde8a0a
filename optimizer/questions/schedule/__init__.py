"""The schedule for the foundry, and sheets that come back.

`steps` finds the best line-up on the shop's steps, `pouring` what is weighed and in which order.
`page` and `data` show one `Schedule`. `sheet_back` reads a sheet that went
out and compares its rows with those that would be written now (`writers.lines`).
"""
