"""The moulds on the screen of `check`: their parts as drawn, and their walls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from geometry.parts import SEVERAL, Part
from optimizer.ball.bounds import Margin
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.margins import outside
from optimizer.paper.document import Block, Column, Heading, Listed, Table, left
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural, room
from optimizer.questions.check.checking import Check
from optimizer.scenario.source.writing import part_text


def mould_blocks(
    mould: Sequence[LinearMap], check: Check, names: Mapping[str, str], units: Units
) -> Iterator[Block]:
    """Yield the parts and walls of one mould, shared by the weights of `mould`."""
    ball, of = units.length.told(2 * mould[0].radius), listed([names[m.label] for m in mould])
    which = ", one mould" if len(mould) == len(check.maps) else ""
    yield Heading(f"Parts as drawn (ball {ball}){which} for {of}")
    yield _parts_table(mould[0], check, units)
    if mould[0].walls:
        yield _walls_table(mould[0], check, units)


def _parts_table(linear_map: LinearMap, check: Check, units: Units) -> Table:
    texts = [part_text(part, check.scenario) for part in linear_map.parts]
    return (
        Listed([*_tree(linear_map.parts)])
        .left("part", lambda at: "  " * at[1] + linear_map.parts[at[0]].name)
        .left(
            f"shape, {units.length.name}", lambda at: _shape(linear_map.parts[at[0]], texts[at[0]])
        )
        .left("at", lambda at: _plain(xyz) if any(xyz := texts[at[0]]["at"]) else "centre")
        .left("material", lambda at: linear_map.pours[at[0]].material)
        .left(f"density, {units.density.name}", lambda at: _range(linear_map.pours[at[0]], units))
        .right("own vol., cm³", lambda at: f"{linear_map.volumes[at[0]]:.1f}")
        .table
    )


def _tree(
    parts: Sequence[Part], host: str | None = None, depth: int = 0
) -> Iterator[tuple[int, int]]:
    """Yield each part's place in `parts` and its depth, hosts before what is inside them."""
    for i, part in enumerate(parts):
        if part.inside == host:
            yield i, depth
            yield from _tree(parts, part.name, depth + 1)


def _shape(part: Part, text: Mapping[str, Any]) -> str:
    """Return a part's shape in the scenario's own words and unit."""
    if "shape" in text:
        shape = _solid(text["shape"])
    else:
        joined, cut = ([solid["kind"] for solid in text.get(key, ())] for key in SEVERAL)
        shape = " + ".join(joined) + "".join(f" − {kind}" for kind in cut)
    more = [f"{key} {_plain(text[key])}" for key in ("stretch", "rotate") if key in text]
    more += [f"through {' and '.join(part.hosts)}"] if part.through else []
    return ", ".join([shape, *more])


def _solid(text: dict[str, Any]) -> str:
    """Return a solid in the scenario's own words and unit."""
    fields = (
        f"{key} {plural(len(value), 'point') if key == 'outline' else _plain(value)}"
        for key, value in text.items()
        if key != "kind"
    )
    return f"{text['kind']}, {', '.join(fields)}"


def _plain(value: Any) -> str:
    if isinstance(value, list | tuple):
        return f"({', '.join(map(_plain, value))})"
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _range(pour: Pour, units: Units) -> str:
    """Return what may be poured, as written or, from a recipe, as densities are printed."""
    low, high, spread, step = (
        "" if value is None else _plain(value / units.density.factor)
        for value in (pour.low, pour.high, pour.tolerance, pour.step)
    )
    if pour.recipe is not None:
        low, high = units.density.number(pour.low), units.density.number(pour.high)
    if pour.fixed:
        return f"{low} fixed"
    span = f"{low} to {high}" + (f" ±{spread}" if spread else "")
    return span + (f", steps of {step}" if step else "")


def _walls_table(linear_map: LinearMap, check: Check, units: Units) -> Table:
    margins = {m.part: m for m in check.walls if m.weight == linear_map.label}
    room = (Column("least"), Column("over by"), left("room"))
    return (
        Listed(linear_map.walls)
        .left(
            "wall (clearance, cover thickness)",
            lambda w: f"{w.between[0]} {'inside' if w.nested else 'beside'} {w.between[1]}",
        )
        .right(f"thickness, {units.length.name}", lambda w: units.length.number(w.thickness))
        .several(room, lambda w: _wall_room(margins.get(w.between), units))
        .table
    )


def _wall_room(margin: Margin | None, units: Units) -> tuple[str, str, str]:
    if margin is None:
        return "-", "-", "no limit given"
    unit = units.limit(margin)
    words = f"UNDER ITS MINIMUM, {room(margin)}" if outside(margin) else room(margin)
    return unit.number(margin.edge), unit.number(margin.slack), words
