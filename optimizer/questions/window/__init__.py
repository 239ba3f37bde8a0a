"""Which low RG and differential each weight can reach, and which all can share.

`window` leads. `reach` is what one weight can reach, `shared_reach` what several can share. `exact`
handles parts on the pin axis, `off_axis` other cores: found, not proven. A test compares the two
where the answer is known. `outside` shows that nothing lies beyond a window, and `deciding` what
that proves of one that a search found.
"""
