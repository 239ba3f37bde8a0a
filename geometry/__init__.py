"""Solids to moments: shapes, where they sit, what is left of each, and the walls between them.

    shape (outline, profile) → moments → placed part → region (its own material) → mass properties

Lengths are centimetres. The origin is the ball's geometric centre, +z goes through the pin (the top
of the core), x and y span the equator.

- Moments: `moments` is the vector space, `placement` moves it, `parts` are placed shapes, `regions`
  takes out what lies inside, `mass_properties` measures a ball. `flux` computes the same moments
  from surfaces alone, and `velocity` their derivatives as a surface moves.
- Outlines: `outline` and `edges` (lines and arcs), `faults` (what is wrong with one as drawn),
  `strokes` (lines and arcs joined end to end), `merge` (areas joined and cut), `profile` (a turned
  solid's outline).
- Surfaces: `surface` is patches of one formula, an edge that is swept, raised or shrunk to a point;
  `face` cuts a flat face into such fans; `cells` bounds where a piece of a patch lies.
- Walls: `walls` chooses the method. Convex bodies go by support functions (`axis`, `support`,
  `space`; `cones` for many faces), others by branch and bound (`distance`, with pairs of cells from
  `pairing`). `closest` finds all close places, and `settle` refines them by Newton's method.
- Sections: `section` cuts by the plane of x and z, `chords` a turned solid beside its axis, `cut`
  an outline by a line, `overlap` several solids. The plane of y and z is the same after a quarter
  turn of the ball (`Part.from_the_side`).
- Several solids in one part: `joined` is a shape like any other, except that walls go by its
  `bodies` and `holes`. `compound` chooses the method: sums for solids that are apart or nested,
  `coaxial` for those turned about one line (exact), `kept` for any other: quadrature over what is
  left of their surfaces. Patches lie on planes, quadrics or tori (`patches`), so lines cross them
  at roots of polynomials (`crossings`, `roots`), and between crossings a line is kept or not
  (`stretches`).
- A part set into several hosts (`Part.through`) is taken out of the outermost; what it shares with
  a host further in (`common`) moves from that region to the one around it. `nesting` orders parts.
"""
