"""The output of a command, independent of format: text blocks, and the same as plain data.

Cells are finished strings; the unit is in the header or the row's name. A run of dots ("........")
is a blank for a person to fill in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from typing import Any, Final, Generic, Literal, ParamSpec, TypeAlias, TypeVar

from optimizer.paper.pictures.picture import Picture, side_by_side
from optimizer.paper.writers.drawing import Drawing

P = ParamSpec("P")
T = TypeVar("T")
Tone: TypeAlias = Literal["plain", "good", "bad", "warning", "quiet"]
"""How a line may be coloured. Its words alone must say the same."""
DOTS: Final = "........"
"""A blank for a person to fill in..."""
BLANK: Final = re.compile(r"\.{4,}")
"""...and a pattern that matches one."""
NUMBER: Final = re.compile(r"[+-]?\d+(\.\d+)?")
"""A cell that holds a number."""


@dataclass(frozen=True)
class Heading:
    """A heading."""

    text: str


@dataclass(frozen=True)
class Paragraph:
    """A line of prose; a writer may wrap it."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Notes:
    """Short lines, each a separate point; a writer may wrap them."""

    lines: tuple[str, ...]
    tone: Tone = "plain"


@dataclass(frozen=True)
class Column:
    """The header of a column, and the alignment of its cells."""

    header: str
    align: Literal["left", "right"] = "right"


@dataclass(frozen=True)
class Table:
    """Rows of cells under columns. A row of a single cell is a heading among the rows."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) not in (1, len(self.columns)):
                raise ValueError(f"{len(row)} cells under {len(self.columns)} columns: {row}")


@dataclass(frozen=True)
class Chart:
    """Lines of fixed-width characters: never wrapped or cut."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Page:
    """The start of a new page or, in a workbook, of a new worksheet of this name.

    `foot` is printed beside the document's title on every sheet of paper; left out, the name.
    """

    name: str
    foot: str = ""

    def under(self, title: str) -> str:
        """Return the foot of its sheets in a document of this title."""
        return " · ".join(filter(None, (title, self.foot or self.name)))


@dataclass(frozen=True)
class Pictures:
    """Pictures that belong together: side by side if there is room, and as one in a file.

    `caption` says what they show and how to read them, beyond each one's own description.
    """

    whole: Picture
    caption: str
    each: tuple[Picture, ...] = ()

    @property
    def shown(self) -> tuple[Picture, ...]:
        """The pictures on a page: each by itself, or the whole if it is a single one."""
        return self.each or (self.whole,)


def panels(name: str, title: str, each: tuple[Picture, ...], caption: str, across: int) -> Pictures:
    """Return pictures side by side as one, described by each one's title and description."""
    about = " ".join(f"{picture.title}: {picture.about}" for picture in each)
    return Pictures(side_by_side(name, title, about, each, across), caption, each)


@dataclass(frozen=True)
class Live:
    """A panel of a page that a `script` builds and runs, from `data` (JSON types).

    The script finds its element by the id `name`, and the data by the id "`name`-data". `without`
    is shown where scripts don't run.
    """

    name: str
    script: str
    data: Mapping[str, Any]
    without: str


@dataclass(frozen=True)
class Attached:
    """Data (JSON types) that a page carries for the next program, under the id `name`."""

    name: str
    data: Mapping[str, Any]


Drawn: TypeAlias = Pictures | Live | Attached
"""Blocks that only a page in a browser can show."""
Block: TypeAlias = Heading | Paragraph | Notes | Table | Chart | Page | Drawn


@dataclass(frozen=True)
class Report:
    """The same answer twice: `blocks` to be read, `data` for the next program (JSON types).

    `drawing` makes the drawing of its moulds, if there are any.
    """

    blocks: tuple[Block, ...]
    data: dict[str, Any]
    drawing: Callable[[], Drawing] | None = None


@dataclass(frozen=True)
class Listed(Generic[T]):
    """A table being built: a row for each of `items`, whose cells the columns compute."""

    items: Sequence[T]
    columns: tuple[Column, ...] = ()
    cells: tuple[Callable[[T], Sequence[str]], ...] = ()

    def left(self, header: str, cell: Callable[[T], str]) -> Listed[T]:
        """Return the table with one more column of words."""
        return self.several([left(header)], lambda item: (cell(item),))

    def right(self, header: str, cell: Callable[[T], str]) -> Listed[T]:
        """Return the table with one more column of figures."""
        return self.several([Column(header)], lambda item: (cell(item),))

    def several(self, columns: Iterable[Column], cells: Callable[[T], Sequence[str]]) -> Listed[T]:
        """Return the table with more columns, whose cells are computed together."""
        return Listed(self.items, (*self.columns, *columns), (*self.cells, cells))

    @property
    def table(self) -> Table:
        """The finished table."""
        rows = ((cell for cells in self.cells for cell in cells(item)) for item in self.items)
        return Table(self.columns, tuple(map(tuple, rows)))


def collected(yields: Callable[P, Iterator[T]]) -> Callable[P, tuple[T, ...]]:
    """Return a function that collects in a tuple what `yields` yields."""

    @wraps(yields)
    def whole(*args: P.args, **kwargs: P.kwargs) -> tuple[T, ...]:
        return tuple(yields(*args, **kwargs))

    return whole


def left(header: str) -> Column:
    """Return a column of words."""
    return Column(header, "left")
