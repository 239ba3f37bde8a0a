"""Windows of cores off the pin axis: searched slice by slice, not proven.

`probing` leads, `slicing` asks a slice, `sheets` has its rows. Near a neighbour's optimum Newton's
method goes on (`settling`, `bound`), from afar programs do (`climbing`); `thrown_balls` are starts,
and counter-examples.
"""
