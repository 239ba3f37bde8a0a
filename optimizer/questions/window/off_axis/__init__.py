"""Windows of cores off the pin axis: searched slice by slice, not proven.

`searched_band` leads, `slice_search` asks the engine for slices of equal low RG, `window_rows` has
the rows; `thrown_balls` gives starts and counter-examples.
"""
