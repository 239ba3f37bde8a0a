"""Random solids and placements for property tests, as plain numbers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

lengths = st.floats(0.5, 15)
factors = st.floats(0.3, 3)
triples = st.tuples(lengths, lengths, lengths)
stretches = st.tuples(factors, factors, factors)
rotations = st.tuples(*[st.floats(-180, 180)] * 3)
positions = st.tuples(*[st.floats(-8, 8)] * 3)
bends = st.one_of(st.just(0.0), st.floats(0.01, 0.2), st.floats(-0.2, -0.01))
"""Bulges; an arc straighter than 0.01 is not lost on ours, but on the oracle's textbook form."""

Solid = dict[str, Any]


@st.composite
def blocks(draw: Callable[..., Any]) -> list[list[float]]:
    """Draw a turned block from its bottom up: corners off the axis, gentle arcs between them.

    A bulge of at most 0.2 leans out by a tenth of the chord, and no side is flatter than it is
    steep, so that no arc reaches another or the axis.
    """
    heights = draw(st.lists(st.floats(1.5, 4), min_size=1, max_size=4))
    radii = draw(st.lists(st.floats(2, 4), min_size=len(heights) + 1, max_size=len(heights) + 1))
    bulges = draw(st.lists(bends, min_size=len(heights), max_size=len(heights)))
    z = -6.0
    outline = [[0.0, z], [radii[0], z, bulges[0]]]
    for height, radius, bulge in zip(heights, radii[1:], [*bulges[1:], 0.0], strict=True):
        z += height
        outline.append([radius, z, bulge])
    return [*outline, [0.0, z + 1.0]]


@st.composite
def sections(draw: Callable[..., Any]) -> list[list[float]]:
    """Draw a bar's cross section: the sides of two blocks, one mirrored, anywhere in the plane.

    Counter-clockwise; mirrored and gone the other way, an arc keeps its bulge.
    """
    heights = draw(st.lists(st.floats(1.5, 4), min_size=1, max_size=3))
    count = len(heights) + 1
    x, y = draw(st.tuples(*[st.floats(-5, 5)] * 2))
    rows = [y + sum(heights[:i]) for i in range(count)]
    right, left = (
        draw(st.lists(st.floats(2, 4), min_size=count, max_size=count)) for _ in range(2)
    )
    there, back = (draw(st.lists(bends, min_size=count - 1, max_size=count - 1)) for _ in range(2))
    up = [[x + r, z, b] for r, z, b in zip(right, rows, [*there, 0.0], strict=True)]
    down = [[x - r, z, b] for r, z, b in zip(left, rows, [0.0, *back], strict=True)]
    return [*up, *down[::-1]]


def _taller(wide: float, extra: float) -> Solid:
    return {"kind": "capsule", "diameter": wide, "height": wide + extra}


solids: st.SearchStrategy[Solid] = st.one_of(
    st.fixed_dictionaries({"kind": st.just("sphere"), "diameter": lengths}),
    st.fixed_dictionaries({"kind": st.just("spheroid"), "diameter": lengths, "height": lengths}),
    st.fixed_dictionaries({"kind": st.just("ellipsoid"), "diameters": triples}),
    st.fixed_dictionaries({"kind": st.just("cylinder"), "diameter": lengths, "height": lengths}),
    st.fixed_dictionaries(
        {"kind": st.just("cone"), "bottom": lengths, "top": st.floats(0, 15), "height": lengths}
    ),
    st.builds(_taller, lengths, st.floats(0, 9)),
    st.builds(
        lambda wide, part: {"kind": "dome", "sphere": wide, "height": wide * part},
        lengths,
        st.floats(0.05, 1),
    ),
    st.builds(
        lambda wide, part: {"kind": "ring", "diameter": wide, "thickness": wide * part},
        lengths,
        st.floats(0.05, 0.95),
    ),
    st.fixed_dictionaries({"kind": st.just("box"), "size": triples}),
    st.builds(lambda outline: {"kind": "revolved", "outline": outline}, blocks()),
    st.fixed_dictionaries({"kind": st.just("extruded"), "outline": sections(), "height": lengths}),
)
