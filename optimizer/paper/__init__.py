"""From a result to the eyes of a person, or to a file: documents and one writer a format.

A folder a subject (`solution`, `window`, `schedule` …), each with a `page` (blocks to be read) and
`data` (JSON). `document` has the blocks, `writers` one format a file, `pictures` one kind a file,
`quantities` the scenario's units. `notebook` shows results in Jupyter, which look it up by name
(`optimizer.lineup.shown`), so that imports still point one way.
"""
