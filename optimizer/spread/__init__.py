"""What is known of quantities that vary, and what follows for figures made of them.

`distribution` is one quantity's; `sources` are independent or correlated quantities and how they
are sampled; `simulation` counts and averages over samples; `linear` is the answer to first order,
with each source's share of a variance; `allocation` finds the cheapest tolerances that hold
variances. The way back, from measurements: `adjustment` makes them satisfy balances, `estimation`
finds parameters by them and by what was known before, `design` the measurements that tell most,
`learning` how far a population is spread; `pendulum` weighs inertia. Nothing here knows a ball.
"""
