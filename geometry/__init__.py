"""From solids to moments: shapes, their placement, their own material, and the walls between them.

    shape (outline, profile) → moments → placed part → region (its own material) → mass properties

Lengths are centimetres. The origin is the ball's geometric centre, +z goes through the pin (the top
of the core), x and y span the equator.

- Moments: `moments` is the vector space, `placement` moves it, `parts` are placed shapes, `regions`
  subtracts what lies inside, `mass_properties` measures a ball. `surface` computes the same moments
  from surfaces alone (`flux_moments`), and `velocity` their derivatives as a surface moves.
- Outlines: `outline` and `edges` (lines and arcs), `faults` (mistakes in one as drawn), `strokes`
  (lines and arcs joined end to end), `merge` (union and difference), `profile` (a turned solid's
  outline).
- Surfaces: `surface` is patches of one formula, an edge that is swept, raised or shrunk to a point;
  `face` cuts a flat face into such fans; `cells` bounds pieces of a patch; `boxes` finds which may
  be near each other, and `triangles` how near flat ones are, exactly.
- Walls: `thinnest` chooses the method. Convex bodies use support functions (`common_axis`,
  `support_functions`, `convex_bodies`), others branch and bound (`between_surfaces`);
  `close_places` finds all close places, and `closest_points` refines them by Newton's method.
- Sections: `section` cuts by the x-z plane, `chords` a turned solid beside its axis. The y-z plane
  is the same after a quarter turn of the ball (`Part.from_the_side`).
- Several solids in one part: `joined` is a shape like any other, except that walls use its `bodies`
  and `holes`. `compound` chooses the method: sums for separate or nested solids, outlines for those
  turned about one line (exact), else `kept`: quadrature over the surfaces that remain. Patches lie
  on planes, quadrics or tori (`patches`), so lines cross them at roots of polynomials
  (`crossings`), and between crossings a line is kept or not (`stretches`).
- A part set into several hosts (`Part.through`) is subtracted from the outermost; what it shares
  with an inner host (`common`) moves from that region to the one around it. `nesting` orders parts.
"""
