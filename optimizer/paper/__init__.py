"""How results are shown: documents, words, units, and one writer a format.

`document` has the blocks of a page, `writers` one format a file, `pictures` the kit that pictures
are drawn with, `quantities` the scenario's units, `words` and `axis_words` what is said of figures.
"""
