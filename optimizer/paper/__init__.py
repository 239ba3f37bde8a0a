"""How results are shown: documents, words, units, and one writer for each format.

`document` has the blocks of a page, `writers` a file for each format, `pictures` the kit for
drawing pictures, `quantities` the scenario's units, `words` and `axis_words` figures in words.
"""
