"""What is remembered: the same to the last bit, or made anew; never wrong, never in the way."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from shared import remembered
from shared.remembered import active

made: list[object] = []


@dataclass(frozen=True, eq=False)
class Found:
    """A result."""

    name: str
    figures: tuple[float | None, ...]
    table: np.ndarray
    inner: Found | None = None


@remembered.remembered(Found)
def found(content: bytes, table: np.ndarray, *, name: str) -> Found:
    """A result with figures that no decimals but the shortest repeat."""
    made.append((content, name))
    figures = (0.1 + 0.2, -0.0, 5e-324, float("inf"), None)
    return Found(name, figures, table / 3, Found("inner", (), np.arange(len(content))))


TABLE = np.array([[1.0, 2.0], [3.0, 7.0]])


def ask(content: bytes = b"abc", name: str = "a", table: np.ndarray = TABLE) -> Found:
    with active():
        return found(content, table, name=name)


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A folder of its own, that isn't there yet."""
    made.clear()
    remembered.use(tmp_path / "new" / "cache")
    yield tmp_path / "new" / "cache"
    remembered.use(None)


def test_what_is_remembered_is_the_same_to_the_last_bit(folder: Path) -> None:
    first, second = ask(), ask()
    assert len(made) == 1
    assert repr(first.figures) == repr(second.figures)
    for one, other in ((first, second), (first.inner, second.inner)):
        assert one.table.dtype == other.table.dtype
        assert one.table.tobytes() == other.table.tobytes()
    assert second.inner.name == "inner"
    assert not second.table.flags.writeable


@pytest.mark.parametrize(
    "other",
    [{"content": b"abd"}, {"name": "b"}, {"table": TABLE + 1e-15}, {"table": TABLE.astype("f4")}],
)
def test_any_other_argument_is_another_question(folder: Path, other: dict[str, object]) -> None:
    ask()
    ask(**other)
    assert len(made) == 2
    ask()
    assert len(made) == 2


def test_other_code_is_another_question(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without it, an update would go on telling what the version before found."""
    ask()
    monkeypatch.setattr(remembered, "_code", lambda _: "later")
    ask()
    assert len(made) == 2


def test_the_code_is_the_text_of_every_module(tmp_path: Path, monkeypatch) -> None:
    module = type(os)("ours")
    module.__file__ = str(tmp_path / "__init__.py")
    monkeypatch.setitem(remembered.sys.modules, "ours", module)
    codes = set()
    for text in ("a = 1", "a = 2"):
        (tmp_path / "inner.py").write_text(text)
        remembered._code.cache_clear()
        codes.add(remembered._code("ours"))
    remembered._code.cache_clear()
    assert len(codes) == 2


def spoilt(content: bytes) -> Iterator[bytes]:
    yield b""
    yield content[: len(content) // 2]
    yield b"\x80\x04N."  # a pickle
    middle = content.index(np.array(TABLE / 3).tobytes())
    yield content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :]  # one bit
    yield content.replace(b"Found", b"Floud")


def test_a_damaged_entry_is_made_anew(folder: Path) -> None:
    first = ask()
    (entry,) = folder.iterdir()
    whole = entry.read_bytes()
    for count, content in enumerate(spoilt(whole), 2):
        entry.write_bytes(content)
        again = ask()
        assert len(made) == count
        assert again.table.tobytes() == first.table.tobytes()
        assert ask().name == "a", "and kept"
        assert len(made) == count


def test_another_entry_under_its_name_is_made_anew(folder: Path) -> None:
    ask()
    (entry,) = folder.iterdir()
    ask(name="b")
    (other,) = set(folder.iterdir()) - {entry}
    other.replace(entry)
    assert ask().name == "a"


def test_the_folder_may_be_deleted_at_any_time(folder: Path) -> None:
    for count in (1, 2):
        assert ask().name == "a"
        assert len(made) == count
        for entry in folder.iterdir():
            entry.unlink()
        folder.rmdir()


def test_a_folder_that_cant_be_written_is_no_cache(tmp_path: Path) -> None:
    made.clear()
    (tmp_path / "file").write_text("no folder")
    remembered.use(tmp_path / "file" / "cache")
    try:
        assert [ask().name, ask().name] == ["a", "a"]
    finally:
        remembered.use(None)
    assert len(made) == 2


def test_nothing_is_kept_of_an_interrupted_write(folder: Path, monkeypatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        ask()
    assert list(folder.iterdir()) == []


def test_a_search_keeps_nothing(folder: Path) -> None:
    found(b"abc", TABLE, name="a")
    assert not folder.exists()


def test_what_was_not_used_for_longest_makes_room(folder: Path, monkeypatch) -> None:
    """Four entries of a block each, with room for three; and a file of someone else's."""
    monkeypatch.setattr(remembered, "ROOM", 3 * remembered.BLOCK)
    folder.mkdir(parents=True)
    (folder / "letter.txt").write_bytes(bytes(10 * remembered.BLOCK))
    for age, name in enumerate("abc"):
        ask(name=name)
        newest = max(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime_ns)
        os.utime(newest, (1e9 + age, 1e9 + age))
    ask(name="a")  # used again: now "b" is the oldest
    ask(name="d")
    assert len(list(folder.glob("*.npz"))) == 3
    assert (folder / "letter.txt").exists()
    made.clear()
    for name in "acd":
        ask(name=name)
    assert made == []
    ask(name="b")
    assert made == [(b"abc", "b")]


@pytest.mark.parametrize(
    ("system", "told", "folder"),
    [
        ("linux", {}, "/home/ann/.cache/samespin"),
        ("linux", {"XDG_CACHE_HOME": "/fast"}, "/fast/samespin"),
        ("linux", {"XDG_CACHE_HOME": "not/absolute"}, None),
        ("darwin", {}, "/home/ann/Library/Caches/samespin"),
        ("linux", {"SAMESPIN_CACHE": "/mine"}, "/mine"),
        ("linux", {"SAMESPIN_CACHE": ""}, None),
    ],
)
def test_the_folder_is_the_systems_or_the_one_that_is_named(
    system: str, told: dict[str, str], folder: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The XDG base directory specification; a relative path there is to be ignored."""
    for name in ("XDG_CACHE_HOME", "SAMESPIN_CACHE"):
        monkeypatch.delenv(name, raising=False)
    for name, value in ({"HOME": "/home/ann"} | told).items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(remembered.sys, "platform", system)
    assert remembered.users_folder() == (folder and Path(folder))
