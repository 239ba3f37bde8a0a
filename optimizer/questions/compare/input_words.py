"""What differs in the input of two candidates, in plain words and in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from optimizer.paper.quantities import Units
from optimizer.questions.compare.differences import Difference, Figure, Value, differences
from optimizer.scenario.scenario import Scenario

LONGEST: Final = 72
"""Letters in a value, at most; for a longer one, only that it differs."""
HEX: Final = 12
"""Digits shown of a file's SHA-256."""
TABLES: Final = {
    "parts": "part {}",
    "materials": "material {}",
    "ingredients": "ingredient {}",
    "dimensions": "dimension {}",
    "picked": "dimension {} as picked",
    "files": "content of file {}",
    "weights": "weight class {}",
    "units": "unit of {}",
    "target": "target, {}",
    "limits": "limits, {}",
    "foundry": "shop, {}",
    "expected": "expected {}",
}
"""How a key of each table is written, by the table's name."""
WORDS: Final = {
    "rg": "low RG",
    "cg_offset": "CG offset",
    "about": "point that RGs are about",
    "order": "order of the parts",
    "balance_arm": "balance arm",
    "foundry": "shop",
    "expected": "what is expected",
}
KEYS: Final = {
    "rg": "low RG",
    "cg_offset": "CG offset",
    "at": "place",
    "inside": "lies inside",
    "rotate": "rotation",
    "same_density": "weights with one density",
    "only_in": "stands in",
    "same": "weights that have it alike",
    "one_of": "moulds on the rack",
    "target": "weight asked for",
    "density": "density that can be poured",
    "except": "exceptions",
}
"""Keys within such a table, in words, where their own name won't do."""
NAMED: Final = ("parts", "materials", "ingredients", "dimensions", "picked", "weights")
"""Tables whose keys are the user's own names."""
PLAIN: Final = {
    "top_weight": "oz",
    "scale": "g",
    "fine_scale": "g",
    "mixer": "l",
    "hold_down": "N",
    "rotate": "°",
    "price": "a kg",
}
"""Units that are the same in every scenario, by a key on the path to the figure."""


def difference_line(difference: Difference, units: Units) -> str:
    """Return a difference in words: its place, the old value and the new one.

    Where a value is too long for a line, only that the two differ.
    """
    where, path, ends = _where(difference.path), difference.path, (difference.old, difference.new)
    if None in ends:
        word = "only here" if difference.old is None else "not here"
        value = _Words(units).brief(path, next(end for end in ends if end is not None))
        return f"{where}: {word}" + (f" ({value})" if value else "")
    for digits in (6, 12):
        old, new = (_Words(units, digits).brief(path, end) for end in ends)
        if old != new:
            break
    return f"{where}: {old} → {new}" if old and new and old != new else f"{where} differs"


def difference_lines(old: Scenario, new: Scenario) -> list[str]:
    """Return all differences in words, in the units of the old scenario."""
    return [difference_line(each, Units.of(old)) for each in differences(old, new)]


def _where(path: tuple[str, ...]) -> str:
    table, *keys = path
    if not keys:
        return WORDS.get(table, table)
    if table == "units":
        keys[0] = keys[0].replace("rg", "RG")
    elif table in {"target", "limits", "foundry", "expected"}:
        keys[0] = WORDS.get(keys[0], keys[0]).replace("_", " ")
    head = TABLES.get(table, f"{table} {{}}").format(keys[0])
    rest = [KEYS.get(key, key).replace("_", " ") for key in keys[1:] if key != "shape"]
    shape = ["shape"] if keys[-1] == "shape" else []
    return ", ".join((head, *rest, *shape))


@dataclass(frozen=True)
class _Words:
    """Values in words, figures in the reader's units to so many significant digits."""

    units: Units
    digits: int = 6

    def brief(self, path: tuple[str, ...], value: Value) -> str:
        """Return a value in words; empty where it is too long for a line."""
        text = self._words(path, value)
        return text if len(text) <= LONGEST else ""

    def _words(self, path: tuple[str, ...], value: Value) -> str:
        match value:
            case bool() | None:
                return "yes" if value else "no"
            case Figure():
                return self._with_unit(path, self._number(value), value)
            case str():
                return _text(path, value)
            case tuple():
                return self._row(path, value)
            case _:
                return self._table(path, value)

    def _row(self, path: tuple[str, ...], row: tuple[Value, ...]) -> str:
        figures = [cell for cell in row if isinstance(cell, Figure)]
        if path[-1:] == ("density",) and len(figures) == 2:
            return self._span(path, *figures)
        if figures and all(isinstance(cell, Figure | str) for cell in row):
            like = next((figure for figure in figures if figure.kind is not None), figures[0])
            cells = (
                self._number(Figure(cell.value, like.kind)) if isinstance(cell, Figure) else cell
                for cell in row
            )
            return self._with_unit(path, f"[{', '.join(map(str, cells))}]", like)
        separator = "; " if all(isinstance(cell, tuple) for cell in row) else ", "
        return separator.join(self._words(path, cell) for cell in row) or "none"

    def _table(self, path: tuple[str, ...], table: Mapping[str, Value]) -> str:
        low, high = table.get("min"), table.get("max")
        if table.keys() == {"min", "max"} and isinstance(low, Figure) and isinstance(high, Figure):
            return self._span(path, low, high)
        return ", ".join(
            f"{KEYS.get(key, key).replace('_', ' ')} {self._words((*path, key), value)}"
            for key, value in table.items()
            if key != "name"
        )

    def _span(self, path: tuple[str, ...], low: Figure, high: Figure) -> str:
        ends = dict.fromkeys(map(self._number, (low, high)))
        return self._with_unit(path, " to ".join(ends), high)

    def _number(self, figure: Figure) -> str:
        factor = 1.0 if figure.kind is None else self.units.by(figure.kind).factor
        return f"{figure.value / factor:.{self.digits}g}"

    def _with_unit(self, path: tuple[str, ...], text: str, figure: Figure) -> str:
        """Return a text with the name of a figure's unit, where it has one."""
        unit = next((PLAIN[key] for key in _grammar(path) if key in PLAIN), "")
        if figure.kind is not None:
            unit = self.units.by(figure.kind).name
        return text + unit if unit == "°" else f"{text} {unit}".rstrip()


def _text(path: tuple[str, ...], value: str) -> str:
    if path in {("name",), ("revision",)}:
        return f'"{value}"'
    if path[:1] == ("files",):
        return f"SHA-256 {value[:HEX]}…"
    length = {"shape", "at"} & set(_grammar(path)) and path[-1] != "kind"
    return f"dimension {value}" if length else value


def _grammar(path: tuple[str, ...]) -> tuple[str, ...]:
    """Return the keys on a path that are the grammar's own."""
    return path[2:] if path[0] in NAMED else path
