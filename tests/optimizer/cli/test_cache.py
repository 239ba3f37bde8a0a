"""What reading finds is remembered: printed the same with, without and after the cache."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from optimizer_texts import shipped
from oracles import blocks

from geometry.mesh import sound
from geometry.shapes import mesh
from optimizer.scenario import drawn
from shared import remembered

CUTS = Path(__file__).parents[2] / "benchmarks" / "lines" / "cuts.toml"


@pytest.fixture
def cache(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for the cache, and two scenarios with something to remember."""
    monkeypatch.setenv(remembered.FOLDER, str(folder / "cache"))
    (folder / "linden.stl").write_bytes(blocks.SCENARIO.read_bytes())
    (folder / "linden.toml").write_text(shipped("linden"), encoding="utf-8")
    (folder / "cuts.toml").write_bytes(CUTS.read_bytes())
    return folder / "cache"


@pytest.fixture
def anew(samespin, monkeypatch: pytest.MonkeyPatch) -> Callable[..., tuple[object, int]]:
    """A function that runs a command as in a new process; also: how many files were checked."""
    checked: list[int] = []
    crossing = sound.crossing
    monkeypatch.setattr(sound, "crossing", lambda c: checked.append(len(c)) or crossing(c))

    def call(*arguments: str) -> tuple[object, int]:
        mesh._read.cache_clear()
        drawn.mould_walls.cache_clear()
        drawn.region_moments.cache_clear()
        checked.clear()
        return samespin(*arguments), len(checked)

    return call


@pytest.mark.parametrize("name", ["linden", "cuts"])
def test_a_command_prints_the_same_with_without_and_after_the_cache(name, cache, anew) -> None:
    without, _ = anew("check", f"{name}.toml", "--json", "--no-cache")
    assert not cache.exists()
    first, _ = anew("check", f"{name}.toml", "--json")
    kept = {path.name: path.read_bytes() for path in cache.iterdir()}
    after, checked = anew("check", f"{name}.toml", "--json")
    assert kept
    assert kept == {path.name: path.read_bytes() for path in cache.iterdir()}
    assert without == first == after
    assert without.code == 0
    assert checked == 0
    _, checked = anew("check", f"{name}.toml", "--json", "--no-cache")
    assert checked == (name == "linden")


def test_a_file_that_has_changed_is_read_anew(cache, anew, folder) -> None:
    """The exponent of one coordinate: the surface is open."""
    assert anew("check", "linden.toml")[0].code == 0
    content = bytearray((folder / "linden.stl").read_bytes())
    content[84 + 15] ^= 0x40
    (folder / "linden.stl").write_bytes(content)
    ran, _ = anew("check", "linden.toml")
    assert ran.code == 3
    assert "is open" in ran.err


def test_damaged_entries_are_made_anew(cache, anew) -> None:
    first, _ = anew("check", "linden.toml")
    for path in cache.iterdir():
        path.write_bytes(path.read_bytes()[:100])
    again, checked = anew("check", "linden.toml")
    assert again == first
    assert checked == 1
    assert anew("check", "linden.toml")[1] == 0


def test_every_command_that_reads_scenarios_can_do_without(process) -> None:
    for name in ("check", "solve", "window", "sharing", "explore", "schedule", "compare", "report"):
        assert "--no-cache" in process(name, "--help").out
    assert process("check", "birch.toml", "--no-cache", "--no-cash").code == 2
