"""samespin tolerance: what the shop's spread does to weight, RG and differential.

`gathered` counts samples of the line of `optimizer.scatter`, and `finding` puts it together.
`usual`: what is left out; `capable`: capability, where all was measured; `misfits`: where parts
would stick out.

The tolerances that a share of good balls asks for: `allotted` are tolerances with their cost,
`allocation` searches the cheapest, on the `linear_line` and by simulation. `weighing` is what the
shop gains where each casting is weighed before the next, by moving the later ones' set-points.
`drawing` is what `solve --for good-share` picks, `picked` what it says of that.

`page` and `details`, `allocation_page` and `weighing_page` are for reading; `pictures`, `words`.
"""
