"""samespin reconcile: from measured balls back to what was poured, and on to the next pour.

`measured` reads a file of readings. `aimed` is what the balls were to be, `stack` balls as a
function of what may have been off in them, and `finding` what the readings tell, of each ball as
`found` has it. From that: the `next` pour, `telling` (which one more reading would tell most) and
`learning` (the shop's spread). `page`, `telling_page`, `pictures`, `words` and `data` tell it.
`half_cast` is apart: it needs no readings but what is cast of one ball. `command_beside` is what
the command does beside reading.
"""
