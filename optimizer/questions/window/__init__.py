"""Which low RG and differential each weight can reach, and which all can share.

`window` leads. `reach` is what one weight can reach, `shared_reach` what several can share. `exact`
is for parts on the pin axis, `off_axis` for other cores: found, not proven. A test compares the
methods where the answer is known.
"""
