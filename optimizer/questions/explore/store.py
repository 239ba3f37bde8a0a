"""The file of a table, and the one where its rows are kept while they come."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from optimizer.questions.explore.parquet import parquet_package, read_parquet, write_parquet
from optimizer.questions.explore.table import Table
from shared.drafts import replaced


@dataclass(frozen=True)
class Store:
    """A table and its file, .csv or .parquet."""

    table: Table
    path: Path

    @property
    def rows(self) -> Path:
        """The CSV file that rows are added to: the table itself, or one beside it."""
        return self.path.with_name(f"{self.path.name}.rows.csv") if self._parquet else self.path

    @property
    def _parquet(self) -> bool:
        return self.path.suffix.lower() == ".parquet"

    def opened(self, *, force: bool) -> int:
        """Return how many candidates the file has, as `Table.mended` does, ready for more."""
        if self._parquet:
            parquet_package()
            if self.path.exists() and not self.rows.exists() and not force:
                with replaced(self.rows) as new:
                    read_parquet(self.table, self.path, new)
        return self.table.mended(self.rows, force=force)

    def close(self) -> None:
        """Write the table, unless its rows are in it already."""
        if self._parquet and self.rows.exists():
            with replaced(self.path) as new:
                write_parquet(self.table, self.rows, new)
            self.rows.unlink()
