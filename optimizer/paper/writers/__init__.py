"""Writers: a document in one format each; `formats` lists them.

`lines` are a document's rows of cells, for CSV and workbooks. `drawing` says what is drawn of a
mould, and `dxf` alone writes DXF.
"""
