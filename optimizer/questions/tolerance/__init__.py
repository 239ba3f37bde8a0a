"""samespin tolerance: what the shop's spread does to weight, RG and differential.

`inputs` reads what varies, `model` is a ball as a function of it, `good` says when a ball
is good, and `finding` simulates the line and answers to first order.

The tolerances that a share of good balls asks for: `allotted` are tolerances with their cost,
`allocation` searches the cheapest, on the `linear_line` and by simulation. `weighing` is what the
shop gains where each casting is weighed before the next, by moving the later `set_points`.
"""
