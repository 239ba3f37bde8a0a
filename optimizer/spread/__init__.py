"""What is known of quantities that vary, and what follows for figures made of them.

`distribution` is one quantity's; `sources` are independent or correlated quantities and how they
are sampled; `simulation` counts and averages over samples; `linear` is the answer to first order,
with each source's share of a variance; `allocation` finds the cheapest tolerances that hold
variances. Nothing here knows a ball.
"""
