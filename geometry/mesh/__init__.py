"""Solids whose surface is triangles: read, checked, and measured for just what they are.

`files` reads them, `step` a CAD model's faces (the only module that knows the CAD kernel: moments
are those of the faces, and its triangles lie within `skin` of them). `sound` refuses or mends what
is wrong and says so; `crossing` finds triangles that cross, over a tree of `boxes`; `missed`
estimates what chords miss; `within` tells inside from outside. `solid` is the result.
"""
