"""Writers, one for each format of a document; `formats` lists them.

`lines` are a document's rows of cells, for CSV and workbooks. `drawing` describes the drawing of a
mould, and only `dxf` writes DXF.
"""
