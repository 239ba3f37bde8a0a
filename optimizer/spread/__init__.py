"""What is known of quantities that vary, and what follows for figures made of them.

`distribution` is one quantity's; `sources` are independent or correlated quantities and how they
are sampled; `simulation` counts and averages over samples; `linear` is the answer to first order;
`shares` tells how much of a figure's variance each source makes; `allocation` finds the cheapest
tolerances that hold a variance. Nothing here knows a ball.
"""
