"""Results show themselves as Jupyter asks them to: `_repr_html_`, HTML that stands in a page."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree as ET

from answers import example, reachable

from optimizer.lineup.shown import PAGES, Shown
from optimizer.questions import notebook
from optimizer.questions.compare.compare import comparison
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.questions.schedule.steps.steps import on_steps


def words(result: Shown) -> str:
    """All words of what it shows; it must be well formed."""
    return " ".join(ET.fromstring(f"<div>{result._repr_html_()}</div>").itertext())  # noqa: S314


def test_a_line_up_and_what_follows_from_it_show_themselves():
    result = example("juniper")
    shown = words(result)
    assert "FEASIBLE" in shown
    assert f"{result.weights[0].ball.densities[0]:.4f}" in shown
    assert "within reach" in words(reachable("juniper"))
    assert "side by side" in words(comparison(["a.toml", "b.toml"], [result, result]))
    assert "Weigh-out" in words(schedule(on_steps(result).lineup))


def test_every_result_that_shows_itself_has_a_page():
    kinds = {kind for kind in Shown.__subclasses__() if kind.__module__.startswith("optimizer.")}
    assert kinds == set(PAGES) == set(notebook.BLOCKS)


def test_without_a_page_it_is_its_plain_repr():
    @dataclass
    class Other(Shown):
        pass

    assert Other()._repr_html_() is None
