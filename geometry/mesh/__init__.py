"""Solids whose surface is triangles: read, checked, and measured exactly as they are.

`files` reads them, `step` a CAD model's faces (the only module that uses the CAD kernel: moments
are those of the faces, and its triangles lie within `skin` of them). `sound` refuses or repairs
faults and reports them; `crossing` finds triangles that cross; `missed` in `edges` estimates the
error of chords; `within` tells inside from outside. `solid` is the result.
"""
