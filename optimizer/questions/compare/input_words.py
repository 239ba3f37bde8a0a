"""What differs in the input of two candidates, in plain words and in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from optimizer.paper.quantities import Units
from optimizer.questions.compare.differences import Difference, Figure, Said

LONGEST: Final = 72
"""Letters of a value at the most; a longer one is said to differ, no more."""
HEX: Final = 12
"""Digits that are shown of what a file is known by."""
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
"""What a key in each table is called."""
WORDS: Final = {
    "rg": "low RG",
    "about": "point that RGs are about",
    "order": "order of the parts",
    "balance_arm": "balance arm",
    "foundry": "shop",
    "expected": "what is expected",
}
KEYS: Final = {
    "rg": "low RG",
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
"""What keys within such a table are called, where their own name is not it."""
NAMED: Final = ("parts", "materials", "ingredients", "dimensions", "picked", "weights")
"""Tables whose keys are names of the user's."""
PLAIN: Final = {
    "top_weight": "oz",
    "scale": "g",
    "fine_scale": "g",
    "mixer": "l",
    "hold_down": "N",
    "rotate": "°",
    "price": "a kg",
}
"""Units of figures that have the same one in every scenario, by a key on the way to them."""


def difference_line(difference: Difference, units: Units) -> str:
    """Return a difference in words: what, and how it was and is; at least that it differs."""
    where = _where(difference.path)
    if difference.old is None or difference.new is None:
        word = "only here" if difference.old is None else "not here"
        value = _told(
            difference.path, difference.new if difference.old is None else difference.old, units
        )
        return f"{where}: {word}" + (f" ({value})" if value else "")
    old, new = (_told(difference.path, value, units) for value in (difference.old, difference.new))
    if old == new:
        old, new = (
            _told(difference.path, value, units, 12) for value in (difference.old, difference.new)
        )
    return f"{where}: {old} → {new}" if old and new and old != new else f"{where} differs"


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


def _told(path: tuple[str, ...], value: Said, units: Units, digits: int = 6) -> str:
    """Return a value in words; empty where it is too long to be read in a line."""
    text = _words(path, value, units, digits)
    return text if len(text) <= LONGEST else ""


def _words(path: tuple[str, ...], value: Said, units: Units, digits: int) -> str:
    match value:
        case bool() | None:
            return "yes" if value else "no"
        case Figure():
            return _with_unit(_number(value, units, digits), _unit(path, value, units))
        case str():
            return _text(path, value)
        case tuple():
            return _row(path, value, units, digits)
        case _:
            return _table(path, value, units, digits)


def _text(path: tuple[str, ...], value: str) -> str:
    if path in {("name",), ("revision",)}:
        return f'"{value}"'
    if path[:1] == ("files",):
        return f"SHA-256 {value[:HEX]}…"
    length = {"shape", "at"} & set(_grammar(path)) and path[-1] != "kind"
    return f"dimension {value}" if length else value


def _row(path: tuple[str, ...], row: tuple[Said, ...], units: Units, digits: int) -> str:
    figures = [one for one in row if isinstance(one, Figure)]
    if path[-1:] == ("density",) and len(figures) == 2:
        return _span(path, figures[0], figures[1], units, digits)
    if figures and all(isinstance(one, Figure | str) for one in row):
        kind = next((figure for figure in figures if figure.kind is not None), figures[0])
        cells = (
            _number(Figure(one.value, kind.kind), units, digits)
            if isinstance(one, Figure)
            else str(one)
            for one in row
        )
        return _with_unit(f"[{', '.join(cells)}]", _unit(path, kind, units))
    if all(isinstance(one, tuple) for one in row):
        return "; ".join(_words(path, one, units, digits) for one in row) or "none"
    return ", ".join(_words(path, one, units, digits) for one in row) or "none"


def _table(path: tuple[str, ...], table: Mapping[str, Said], units: Units, digits: int) -> str:
    low, high = table.get("min"), table.get("max")
    if table.keys() == {"min", "max"} and isinstance(low, Figure) and isinstance(high, Figure):
        return _span(path, low, high, units, digits)
    told = (
        f"{KEYS.get(key, key).replace('_', ' ')} {_words((*path, key), value, units, digits)}"
        for key, value in table.items()
        if key != "name"
    )
    return ", ".join(told)


def _span(path: tuple[str, ...], low: Figure, high: Figure, units: Units, digits: int) -> str:
    ends = [_number(figure, units, digits) for figure in (low, high)]
    text = ends[0] if ends[0] == ends[1] else " to ".join(ends)
    return _with_unit(text, _unit(path, high, units))


def _number(figure: Figure, units: Units, digits: int) -> str:
    factor = 1.0 if figure.kind is None else units.by(figure.kind).factor
    return f"{figure.value / factor:.{digits}g}"


def _unit(path: tuple[str, ...], figure: Figure, units: Units) -> str:
    """Return the name of a figure's unit, empty where it has none."""
    if figure.kind is not None:
        return units.by(figure.kind).name
    return next((PLAIN[key] for key in _grammar(path) if key in PLAIN), "")


def _grammar(path: tuple[str, ...]) -> tuple[str, ...]:
    """Return the keys on a path that are the grammar's own."""
    return path[2:] if path[0] in NAMED else path


def _with_unit(text: str, unit: str) -> str:
    return text + unit if unit == "°" else f"{text} {unit}".rstrip()
