"""The part of a check's screen that shows a mould: its parts as drawn, and its walls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from geometry.parts import SEVERAL, Part
from optimizer.linear.bounds import Margin
from optimizer.linear.maps import LinearMap, Pour
from optimizer.lineup.margins import outside
from optimizer.report.check.checking import Check
from optimizer.report.document import Block, Column, Heading, Table, left
from optimizer.report.quantities import Units
from optimizer.report.words import listed, plural, room
from optimizer.scenario.writing import part_text


def mould_blocks(
    mould: Sequence[LinearMap], check: Check, names: Mapping[str, str], units: Units
) -> Iterator[Block]:
    """Yield the parts and walls of one mould, which the weights of `mould` are cast in."""
    yield Heading(_name(mould, check, names, units))
    yield _parts_table(mould[0], check, units)
    if mould[0].walls:
        yield _walls_table(mould[0], check, units)


def _name(mould: Sequence[LinearMap], check: Check, names: Mapping[str, str], units: Units) -> str:
    ball = units.length.told(2 * mould[0].radius)
    if len(mould) == len(check.maps):
        return f"Parts as drawn (ball {ball}), one mould for {listed(list(names.values()))}"
    return f"Parts as drawn (ball {ball}) for {listed([names[m.label] for m in mould])}"


def _parts_table(map_: LinearMap, check: Check, units: Units) -> Table:
    rows = []
    for i, depth in _tree(map_.parts):
        part, pour = map_.parts[i], map_.pours[i]
        shape, at = _shape(part, check)
        rows.append(
            (
                "  " * depth + part.name,
                shape,
                at,
                pour.material,
                _range(pour, units),
                f"{map_.volumes[i]:.1f}",
            )
        )
    return Table(
        (
            left("part"),
            left(f"shape, {units.length.name}"),
            left("at"),
            left("material"),
            left(f"density, {units.density.name}"),
            Column("own vol., cm³"),
        ),
        tuple(rows),
    )


def _tree(
    parts: Sequence[Part], host: str | None = None, depth: int = 0
) -> Iterator[tuple[int, int]]:
    """Yield the place of each part and how deep it lies, hosts before what is inside them."""
    for i, part in enumerate(parts):
        if part.inside == host:
            yield i, depth
            yield from _tree(parts, part.name, depth + 1)


def _shape(part: Part, check: Check) -> tuple[str, str]:
    """Return a part's shape and place in the scenario's own words and unit."""
    text: dict[str, Any] = part_text(part, check.scenario)
    if "shape" in text:
        said = _solid(text["shape"])
    else:
        joined, cut = ([one["kind"] for one in text.get(key, ())] for key in SEVERAL)
        said = " + ".join(joined) + "".join(f" − {kind}" for kind in cut)
    turned = [f"{key} {_plain(text[key])}" for key in ("stretch", "rotate") if key in text]
    turned += [f"through {' and '.join(part.hosts)}"] if part.through else []
    return ", ".join([said, *turned]), _plain(text["at"]) if any(text["at"]) else "centre"


def _solid(text: dict[str, Any]) -> str:
    """Return a solid in the scenario's own words and unit."""
    told = [
        f"{key} {plural(len(value), 'point')}" if key == "outline" else f"{key} {_plain(value)}"
        for key, value in text.items()
        if key != "kind"
    ]
    return f"{text['kind']}, {', '.join(told)}"


def _plain(value: Any) -> str:
    if isinstance(value, list | tuple):
        return "(" + ", ".join(_plain(one) for one in value) + ")"
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _range(pour: Pour, units: Units) -> str:
    """Return what may be poured, with the digits that it was written with.

    What follows from a recipe has the digits of a density.
    """
    low, high, spread, step = (
        "" if value is None else _plain(value / units.density.factor)
        for value in (pour.low, pour.high, pour.tolerance, pour.step)
    )
    if pour.recipe is not None:
        low, high = units.density.number(pour.low), units.density.number(pour.high)
    if pour.fixed:
        return f"{low} fixed"
    told = f"{low} to {high}" + (f" ±{spread}" if spread else "")
    return told + (f", steps of {step}" if step else "")


def _walls_table(map_: LinearMap, check: Check, units: Units) -> Table:
    margins = {m.part: m for m in check.walls if m.weight == map_.label}
    rows = []
    for wall in map_.walls:
        margin = margins.get(wall.between)
        kind = "inside" if wall.nested else "beside"
        rows.append(
            (
                f"{wall.between[0]} {kind} {wall.between[1]}",
                units.length.number(wall.thickness),
                *_wall_room(margin, units),
            )
        )
    return Table(
        (
            left("wall (clearance, cover thickness)"),
            Column(f"thickness, {units.length.name}"),
            Column("least"),
            Column("over by"),
            left("room"),
        ),
        tuple(rows),
    )


def _wall_room(margin: Margin | None, units: Units) -> tuple[str, str, str]:
    if margin is None:
        return "-", "-", "no limit given"
    unit = units.limit(margin)
    told = f"UNDER ITS MINIMUM, {room(margin)}" if outside(margin) else room(margin)
    return unit.number(margin.edge), unit.number(margin.slack), told
