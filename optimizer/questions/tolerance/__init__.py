"""samespin tolerance: what the shop's spread does to weight, RG and differential.

`inputs` reads what varies (`usual`: what is left out), `model` is a ball as a function of it
(`worst`: at its ends, and built exactly), `good` says when a ball is good, `line` has the balls of
all weights, `gathered` counts samples of them, and `finding` puts it together. `capable`:
capability, where all was measured. `room` and `misfits`: where parts would stick out.

The tolerances that a share of good balls asks for: `allotted` are tolerances with their cost,
`allocation` searches the cheapest, on the `linear_line` and by simulation. `weighing` is what the
shop gains where each casting is weighed before the next, by moving the later `set_points`.
`drawing` is what `solve --for good-share` picks, `picked` what it says of that.

`page` and `details`, `allocation_page` and `weighing_page` are for reading; `pictures`, `words`.
"""
