"""Scenarios that several tests read."""

SHELLS = """
name     = "Shells"
revision = "A"
[units]
length  = "mm"
weight  = "kg"
density = "g/cm3"
rg      = "mm"
[target]
rg           = 66.0
differential = 0.0
about        = "centre"
tolerance    = { weight = 0.03, rg = 0.08, differential = 0.03 }
[weights]
a = 7.00
b = 6.00
[dimensions]
bed = { min = 100.0, max = 200.0 }
[materials.shell]
density   = [0.90, 1.27]
tolerance = 0.01
[materials.light]
density   = [0.1, 3.0]
tolerance = 0.001
[[parts]]
name     = "cover"
shape    = { kind = "sphere", diameter = 217.0 }
material = "shell"
[[parts]]
name     = "mantle"
inside   = "cover"
shape    = { kind = "sphere", diameter = "bed" }
material = "light"
"""
