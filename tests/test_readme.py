"""The README and the guide to scenarios show what the program does today."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from geometry.shapes import SHAPES
from optimizer.cli.app import run

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = (ROOT / "scenarios" / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def samespin(monkeypatch, capsys):
    """A function that runs a command line where the README is, and returns what it prints."""

    def printed(*arguments: str) -> str:
        assert run(arguments) == 0
        return capsys.readouterr().out

    monkeypatch.chdir(ROOT)
    return printed


def test_the_demo_in_the_readme_is_what_the_demo_prints(samespin):
    shown = re.search(r"<!-- demo:.*?```text\n(.*?)```", README, re.DOTALL)
    assert shown is not None
    assert shown[1] == samespin("solve", "scenarios/juniper.toml")


def test_the_candidates_in_the_guide_are_told_as_they_are(samespin):
    shown = re.search(r"<!-- compare:.*?```text\n(.*?)```", GUIDE, re.DOTALL)
    assert shown is not None
    printed = samespin("compare", "scenarios/juniper.toml", "scenarios/juniper-b.toml")
    for block in shown[1].strip().split("\n\n"):
        assert block in printed


def test_the_guide_lists_every_shape_with_its_fields():
    for shape in SHAPES:
        kind = shape.model_fields["kind"].default
        row = next(line for line in GUIDE.splitlines() if line.startswith(f"| `{kind}`"))
        for field in shape.model_fields:
            assert field == "kind" or field in row


def test_the_readme_names_every_command(samespin):
    commands = re.findall(r"^  (\w+) +\S", samespin("--help").split("Commands:")[1], re.MULTILINE)
    assert commands
    for command in commands:
        assert f"`samespin {command}" in README


def test_a_cell_of_the_readme_comes_to_something_that_shows_itself(monkeypatch):
    """The last line of a cell is what Jupyter shows."""
    monkeypatch.chdir(ROOT)
    (cell,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    *lines, last = cell.strip().splitlines()
    known: dict[str, object] = {}
    exec("\n".join(lines), known)  # noqa: S102 - our own words
    assert "FEASIBLE" in eval(last, known)._repr_html_()  # noqa: S307


def test_links_and_pictures_lead_to_files():
    texts = {ROOT: README, ROOT / "scenarios": GUIDE}
    links = [
        folder / link
        for folder, text in texts.items()
        for link in re.findall(r"\]\(([^)#]+)\)", text)
    ]
    assert len(links) > 4
    assert [link for link in links if not link.is_file()] == []


def test_the_guide_lists_every_example():
    for path in (ROOT / "scenarios").glob("*.toml"):
        assert f"| `{path.name}` |" in GUIDE
