"""What a command has to say, free of any format: text blocks, and the same as plain data.

Cells are strings that are ready to be read; the unit stands in the header or in the row's name.
A run of dots ("........") is a blank, where a person writes.
"""

from __future__ import annotations

import re
import unicodedata
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
"""Where a person writes."""
BLANK: Final = re.compile(r"\.{4,}")
"""Where a person writes."""
NUMBER: Final = re.compile(r"[+-]?\d+(\.\d+)?")
"""A cell of a column of figures that is one."""


@dataclass(frozen=True)
class Heading:
    """The line above what belongs together."""

    text: str


@dataclass(frozen=True)
class Paragraph:
    """A line of prose; a writer may wrap it."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Notes:
    """Short lines, each a point of its own; a writer may wrap them."""

    lines: tuple[str, ...]
    tone: Tone = "plain"


@dataclass(frozen=True)
class Column:
    """The header of a column, and to which side its cells stand."""

    header: str
    align: Literal["left", "right"] = "right"


@dataclass(frozen=True)
class Table:
    """Rows of cells under columns. A row of one cell is a heading among the rows."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) not in (1, len(self.columns)):
                raise ValueError(f"{len(row)} cells under {len(self.columns)} columns: {row}")


@dataclass(frozen=True)
class Chart:
    """Lines of characters that stand one under the other as they are: never wrapped or cut."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Page:
    """What follows begins a new page, or in a workbook a new worksheet of this name.

    `foot` stands beside the document's title on every sheet of paper that it takes: left out, the
    name.
    """

    name: str
    foot: str = ""

    def under(self, title: str) -> str:
        """Return what stands at the foot of its paper in a document of this title."""
        return " · ".join(filter(None, (title, self.foot or self.name)))


@dataclass(frozen=True)
class Pictures:
    """Pictures that belong together: side by side where there is room, and as one in a file.

    `caption` says what they show and how to read them, besides what each says of itself.
    """

    whole: Picture
    caption: str
    each: tuple[Picture, ...] = ()

    @property
    def shown(self) -> tuple[Picture, ...]:
        """What stands on a page: each by itself, or the whole where it is in one piece."""
        return self.each or (self.whole,)


def panels(name: str, title: str, each: tuple[Picture, ...], caption: str, across: int) -> Pictures:
    """Return pictures side by side, as one told by the titles of each and what it is about."""
    about = " ".join(f"{picture.title}: {picture.about}" for picture in each)
    return Pictures(side_by_side(name, title, about, each, across), caption, each)


@dataclass(frozen=True)
class Live:
    """A panel of a page that a `script` makes and works, from `data` (JSON types).

    The script finds both by `name`: the element of this id, and the data in that of id
    "`name`-data". `without` says what is to be said where scripts don't run.
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
"""What only a page in a browser can show."""
Block: TypeAlias = Heading | Paragraph | Notes | Table | Chart | Page | Drawn


@dataclass(frozen=True)
class Report:
    """The same answer twice: `blocks` to be read, `data` for the next program (JSON types).

    `drawing` makes the drawing of its moulds, where a command has any.
    """

    blocks: tuple[Block, ...]
    data: dict[str, Any]
    drawing: Callable[[], Drawing] | None = None


@dataclass(frozen=True)
class Listed(Generic[T]):
    """A table in the making: a row for each of `items`, and what its columns say of one."""

    items: Sequence[T]
    columns: tuple[Column, ...] = ()
    cells: tuple[Callable[[T], Sequence[str]], ...] = ()

    def left(self, header: str, cell: Callable[[T], str]) -> Listed[T]:
        """Return the rows with one more column, of words."""
        return self.several([left(header)], lambda item: (cell(item),))

    def right(self, header: str, cell: Callable[[T], str]) -> Listed[T]:
        """Return the rows with one more column, of figures."""
        return self.several([Column(header)], lambda item: (cell(item),))

    def several(self, columns: Iterable[Column], cells: Callable[[T], Sequence[str]]) -> Listed[T]:
        """Return the rows with more columns, whose cells come together."""
        return Listed(self.items, (*self.columns, *columns), (*self.cells, cells))

    @property
    def table(self) -> Table:
        """The table."""
        rows = ((cell for cells in self.cells for cell in cells(item)) for item in self.items)
        return Table(self.columns, tuple(map(tuple, rows)))


def collected(yields: Callable[P, Iterator[T]]) -> Callable[P, tuple[T, ...]]:
    """Return a function that returns, as a tuple, what `yields` does."""

    @wraps(yields)
    def whole(*args: P.args, **kwargs: P.kwargs) -> tuple[T, ...]:
        return tuple(yields(*args, **kwargs))

    return whole


def left(header: str) -> Column:
    """Return a column of words."""
    return Column(header, "left")


def safe(text: str) -> str:
    """Return a text that steers no screen and breaks no line, whatever name stands in it."""
    return "".join("�" if unicodedata.category(c) in {"Cc", "Cf", "Zl", "Zp"} else c for c in text)
