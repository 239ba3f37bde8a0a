"""Results that show themselves in a notebook."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

PAGES: Final[dict[type, Callable[[Any], str]]] = {}
"""How each kind of result becomes HTML: `optimizer.questions.notebook` fills it."""


class Shown:
    """A result with a `_repr_html_`, which Jupyter uses to display a cell's value."""

    def _repr_html_(self) -> str | None:
        """Return the result as HTML within another page; None, for its plain repr, without one."""
        page = PAGES.get(type(self))
        return None if page is None else page(self)
