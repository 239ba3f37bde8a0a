"""Solids to moments: shapes, where they sit, what is left of each, and the walls between them.

    shape (outline, profile) → moments → placed part → region (its own material) → mass properties

Lengths are centimetres. The origin is the ball's geometric centre, +z goes through the pin (the top
of the core), x and y span the equator.

- Moments: `moments` is the vector space, `placement` moves it, `parts` are placed shapes, `regions`
  takes out what lies inside, `mass_properties` measures a ball. `surface` has the same
  moments from surfaces alone (`flux_moments`), and `velocity` their derivatives as one moves.
- Outlines: `outline` and `edges` (lines and arcs), `faults` (what is wrong with one as drawn),
  `strokes` (lines and arcs joined end to end), `merge` (areas joined and cut), `profile` (a turned
  solid's outline).
- Surfaces: `surface` is patches of one formula, an edge that is swept, raised or shrunk to a point;
  `face` cuts a flat face into such fans; `cells` bounds where a piece of a patch lies.
- Walls: `thinnest` chooses the method. Convex bodies go by support functions (`common_axis`,
  `support_functions`, `convex_bodies`), others by branch and bound (`between_surfaces`);
  `close_places` finds all close places, and `settling` refines them by Newton's method.
- Sections: `section` cuts by the plane of x and z, `chords` a turned solid beside its axis. The
  plane of y and z is the same after a quarter turn of the ball (`Part.from_the_side`).
- Several solids in one part: `joined` is a shape like any other, except that walls go by its
  `bodies` and `holes`. `compound` chooses the method: sums for solids that are apart or nested,
  outlines for those turned about one line (exact), `kept` for any other: quadrature over what is
  left of their surfaces. Patches lie on planes, quadrics or tori (`patches`), so lines cross them
  at roots of polynomials (`crossings`), and between crossings a line is kept or not (`stretches`).
- A part set into several hosts (`Part.through`) is taken out of the outermost; what it shares with
  a host further in (`common`) moves from that region to the one around it. `nesting` orders parts.
"""
