"""Results that show themselves in a notebook."""

from __future__ import annotations

from importlib import import_module


class Shown:
    """A result with a `_repr_html_`, by which Jupyter shows what a cell comes to.

    How it is shown is known above it, in `optimizer.report.notebook`, which is looked up when it is
    asked for: a result knows no page.
    """

    def _repr_html_(self) -> str:
        told: str = import_module("optimizer.report.notebook").html(self)
        return told
