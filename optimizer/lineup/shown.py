"""Results that show themselves in a notebook."""

from __future__ import annotations


class Shown:
    """A result with a `_repr_html_`, which Jupyter uses to display a cell's value."""

    def _repr_html_(self) -> str:
        # the one import that goes up: the contract in pyproject.toml names it
        from optimizer.questions.notebook import html  # noqa: PLC0415

        return html(self)
