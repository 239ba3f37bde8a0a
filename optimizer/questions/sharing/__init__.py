"""How few different pours or moulds a line needs.

`sharing` compares numbers of `pours`; in `pour_links` HiGHS chooses which neighbours share, and
only what the engine has solved is shown. `mould_sharing` does the same for moulds, `fillers` weighs
what is mixed.
"""
