"""Questions asked of the heart, a folder each, in import order.

`line_up`, `check`, `window`, `why_not`, `trade`, `worth`, `solve`, `sharing`, `explore`, `compare`,
`schedule`, `report`. A folder has what finds the answer, named like it, `page` (to be read), `data`
(JSON), pictures, and `command`; it imports only folders before it. `notebook` shows any answer.
"""
