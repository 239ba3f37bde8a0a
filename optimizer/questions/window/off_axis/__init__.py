"""Windows of cores off the pin axis: searched slice by slice, not proven.

`probing` leads, `slicing` asks the line-up's engine for a slice, `sheets` has its rows;
`thrown_balls` are starts, and counter-examples.
"""
