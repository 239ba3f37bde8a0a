"""samespin reconcile: from measured balls back to what was poured, and on to the next pour.

`measurements` are the kinds of readings and their gauges; `measured_file` and `measured_row` read a
file of them, `template` writes one. `aimed` is what the balls were to be, `stack` balls as a
function of what may have been off in them, and `finding` what the readings tell. From that:
`bias` and `next_pour`, `telling` (one more reading), `learned` (with `readings`; `learned_text`
writes it into the scenario) and `control_chart`. `page`, `next_page`, `learned_page`, `pictures`,
`words` and `data` tell it.

A ball that is half cast: `casts` reads what is given, `one_ball` re-sets its pours (`least_moved`),
`same_piece` finds other weights that it suits, `range_found` when to scrap it, `good_from_here` its
share of good balls; `half_cast` puts it together, with its page and data.
"""
