"""How few different pours or moulds a line needs.

`sharing` compares numbers of `pours`; in `pour_links` HiGHS chooses which neighbours share, and
only what the engine has solved is shown. `fewest` proves how many are needed, from `clashes`; what
that leaves open is solved as `grouped`. `mould_sharing` does the same for moulds, `fillers` weighs
what is mixed.
"""
