"""How few different pours or moulds a line can do with.

`sharing` counts `pours`; `links` lets HiGHS choose which neighbours are one, and only what the
engine has solved is told. `mould_sharing` does so for moulds, `fillers` weighs what is mixed.
"""
