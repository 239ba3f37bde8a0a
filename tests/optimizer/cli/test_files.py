from __future__ import annotations

import os
from pathlib import Path

import pytest

from optimizer.terminal.files import refuse, write
from shared.errors import InputError


def test_a_file_is_written_with_ordinary_permissions(tmp_path: Path) -> None:
    write({tmp_path / "x": b"new"}, force=False)
    (tmp_path / "y").write_bytes(b"")
    assert (tmp_path / "x").read_bytes() == b"new"
    assert (tmp_path / "x").stat().st_mode == (tmp_path / "y").stat().st_mode


def test_nothing_is_written_over_unless_it_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "x"
    path.write_bytes(b"old")
    with pytest.raises(InputError, match="already exists"):
        write({tmp_path / "new": b"", path: b"new"}, force=False)
    assert [p.name for p in tmp_path.iterdir()] == ["x"]
    assert path.read_bytes() == b"old"
    write({path: b"new"}, force=True)
    assert path.read_bytes() == b"new"


def test_what_another_run_has_just_written_is_not_written_over(tmp_path: Path, monkeypatch) -> None:
    path = tmp_path / "x"
    monkeypatch.setattr("shared.stopping.finish", lambda: path.write_bytes(b"another's"))
    with pytest.raises(InputError, match="already exists"):
        write({path: b"new"}, force=False)
    assert [p.name for p in tmp_path.iterdir()] == ["x"]
    assert path.read_bytes() == b"another's"
    write({path: b"new"}, force=True)
    assert path.read_bytes() == b"new"


def test_a_disk_without_links_is_written_to(tmp_path: Path, monkeypatch) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, os.strerror(1))

    monkeypatch.setattr(Path, "hardlink_to", none)
    write({tmp_path / "x": b"new"}, force=False)
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("x", b"new")]


def test_a_write_that_fails_leaves_all_as_it_was(tmp_path: Path, monkeypatch) -> None:
    """The disk is full at the second of two files: neither appears, the old one stays."""
    old = tmp_path / "a"
    old.write_bytes(b"old")
    real, calls = Path.write_bytes, []

    def full(self: Path, data: bytes) -> int:
        calls.append(self)
        if len(calls) == 2:
            real(self, data[:1])
            raise OSError(28, os.strerror(28))
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match="can't be written"):
        write({old: b"new", tmp_path / "b": b"new"}, force=True)
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
    assert old.read_bytes() == b"old"


@pytest.mark.parametrize("letters", [245, 250])
def test_a_name_as_long_as_a_file_may_have_is_written(letters: int, tmp_path: Path) -> None:
    """255 bytes are the most on common systems: what it is first written to needs no more."""
    path = tmp_path / ("x" * letters + ".csv")
    write({path: b"new"}, force=False)
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_no_name_of_the_file_that_is_read_may_be_written(tmp_path: Path, monkeypatch) -> None:
    source = tmp_path / "x.json"
    source.write_bytes(b"old")
    (tmp_path / "inner").mkdir()
    (tmp_path / "inner" / "soft.json").symlink_to(source)
    (tmp_path / "hard.json").hardlink_to(source)
    monkeypatch.chdir(tmp_path / "inner")
    for name in ("../x.json", "soft.json", "../hard.json", str(source), "../inner/../x.json"):
        with pytest.raises(InputError, match="is the file that this command reads"):
            refuse(Path(name), ["none.json", str(source)], force=True)
    other = tmp_path / "other.json"
    other.write_bytes(b"old")
    refuse(other, [str(source)], force=True)


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        write({tmp_path: b""}, force=True)


@pytest.mark.parametrize(
    ("text", "what"), [("<!doctype html>", "is a page"), ('{"lineup": 1}', "is JSON")]
)
def test_a_scenario_is_asked_for_where_a_page_or_a_solution_is_given(samespin, folder, text, what):
    (folder / "x.toml").write_text(text, encoding="utf-8")
    ran = samespin("solve", "x.toml")
    assert (ran.code, ran.out) == (3, "")
    assert what in ran.err
    assert "goes to samespin schedule, compare or report" in ran.err
