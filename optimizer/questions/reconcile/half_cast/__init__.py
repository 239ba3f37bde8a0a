"""The ball that is half cast.

`casts` reads what is given, `one_ball` re-sets its pours (`least_moved`), `same_piece` finds other
weights that it suits, `range_found` when to scrap it, `good_from_here` its share of good balls;
`half_cast` puts it together, `page` and `data` tell it.
"""
