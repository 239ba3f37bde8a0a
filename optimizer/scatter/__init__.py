"""A line of balls as a function of what varies in the shop.

`inputs` reads what varies, each with its distribution and the weights that share it; `model` is
one weight's ball as a function of it (`worst`: at its ends, and built exactly; `room`: where parts
would stick out); `good` says when a ball is good; `line` has the balls of all weights, and the
share of them that are good. `set_points` of later castings answer to what the earlier ones weigh.
"""
