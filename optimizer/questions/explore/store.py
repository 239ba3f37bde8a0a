"""Where a table's rows stand while they come, and the file that it becomes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from optimizer.questions.explore.parquet import parquet_package, read_parquet, write_parquet
from optimizer.questions.explore.table import Table
from shared.drafts import draft


@dataclass(frozen=True)
class Store:
    """A table and its file, .csv or .parquet."""

    table: Table
    path: Path

    @property
    def rows(self) -> Path:
        """The CSV file that the rows are added to: the table itself, or one beside it."""
        return self.path.with_name(f"{self.path.name}.rows.csv") if self._parquet else self.path

    @property
    def _parquet(self) -> bool:
        return self.path.suffix.lower() == ".parquet"

    def opened(self, *, force: bool) -> int:
        """Return how many candidates stand there, as `Table.mended` does, ready for more."""
        if self._parquet:
            parquet_package()
            if self.path.exists() and not self.rows.exists() and not force:
                new = draft(self.rows)
                try:
                    read_parquet(self.table, self.path, new)
                    new.replace(self.rows)
                finally:
                    new.unlink(missing_ok=True)
        return self.table.mended(self.rows, force=force)

    def close(self) -> None:
        """Make the file of the rows, if it isn't theirs already."""
        if self._parquet and self.rows.exists():
            new = draft(self.path)
            try:
                write_parquet(self.table, self.rows, new)
                new.replace(self.path)
            finally:
                new.unlink(missing_ok=True)
            self.rows.unlink()
