"""Files from elsewhere: ordinary ones, within their folder, and never more than they may have."""

from __future__ import annotations

import io
import os
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest

from shared import untrusted
from shared.errors import FileError
from shared.untrusted import CENTRAL, ENTRIES, content, unzipped, zipped


def refused(call, *arguments, **options) -> str:
    with pytest.raises(FileError) as caught:
        call(*arguments, **options)
    return str(caught.value)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "line").mkdir()
    (tmp_path / "line" / "a.txt").write_bytes(b"12345")
    (tmp_path / "b.txt").write_bytes(b"12345")
    return tmp_path / "line"


def test_an_ordinary_file_is_read_up_to_its_bound(folder) -> None:
    assert content(folder / "a.txt", 5) == b"12345"
    assert refused(content, folder / "a.txt", 4) == "is larger than 4e-06 MB; name a smaller one"
    with (folder / "hole").open("wb") as stream:
        stream.truncate(10**12)
    assert refused(content, folder / "hole", 10**6).startswith("is larger than 1 MB")


def test_what_may_never_end_is_not_opened(folder) -> None:
    """A pipe that nobody writes, devices, links to them; a file of /proc has no size, and ends."""
    os.mkfifo(folder / "pipe")
    (folder / "link").symlink_to("/dev/zero")
    for path in (folder / "pipe", folder / "link", Path("/dev/zero"), Path("/dev/tty")):
        assert refused(content, path, 10) == "is not an ordinary file; name one that is"
    assert content(Path("/proc/self/cmdline"), 10**6)


def test_folders_and_names_that_lead_nowhere_are_told(folder) -> None:
    (folder / "ring").symlink_to("ring")
    assert refused(content, folder, 10) == "is a folder; name a file in it"
    assert refused(content, folder / "a.txt" / "b", 10) == "does not exist; check its name"
    for name in ("ring", "a\0b", "x" * 300):
        assert refused(content, folder / name, 10).startswith("can't be read: ")
        assert refused(content, folder / name, 10, below=folder)


@pytest.mark.parametrize("name", ["../b.txt", "link.txt", "away/b.txt", "../line2/a.txt"])
def test_a_file_outside_of_the_folder_is_read_only_if_allowed(folder, name, monkeypatch) -> None:
    """By its name, through a link, through a folder that is one; beside a folder named alike."""
    (folder / "link.txt").symlink_to("../b.txt")
    (folder / "away").symlink_to("..")
    (folder.parent / "line2").mkdir()
    (folder.parent / "line2" / "a.txt").write_bytes(b"12345")
    said = refused(content, folder / name, 10, below=folder)
    assert said.startswith("lies outside of the scenario's folder; move it there, or allow")
    monkeypatch.setattr(untrusted._State, "allowed", (folder.parent,))
    assert content(folder / name, 10, below=folder) == b"12345"


def test_whether_a_file_exists_outside_is_not_told(folder) -> None:
    said = refused(content, folder / "../none.txt", 10, below=folder)
    assert said.startswith("lies outside")


def test_links_within_the_folder_and_to_it_are_followed(folder) -> None:
    (folder / "link.txt").symlink_to("a.txt")
    (folder.parent / "other").symlink_to("line")
    for path in (folder / "link.txt", folder / "../line/a.txt", folder.parent / "other/a.txt"):
        assert content(path, 10, below=folder) == b"12345"
        assert content(path, 10, below=folder.parent / "other") == b"12345"


# Archives


def archive(compression: int = zipfile.ZIP_DEFLATED, **files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression) as some:
        for name, held in files.items():
            some.writestr(name, held)
    return out.getvalue()


def peak(call, *arguments) -> int:
    tracemalloc.start()
    try:
        call(*arguments)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_an_archive_comes_back_as_it_was_and_without_compression() -> None:
    files = {"a": b"", "b": bytes(range(256)) * 1000, "c/d": b"x" * 100_000}
    packed = archive(**files)
    assert unzipped(packed, 400_000) == files
    again = zipped(unzipped(packed, 400_000))
    assert unzipped(again, 400_000) == files
    with zipfile.ZipFile(io.BytesIO(again)) as plain:
        assert {e.compress_type for e in plain.infolist()} == {zipfile.ZIP_STORED}


def test_an_archive_that_expands_is_refused_before_it_has() -> None:
    """50 MB from 50 kB, at a bound of 1 MB: in one file, in several, with a size that is a lie."""
    big = archive(a=bytes(50_000_000))
    lie = bytearray(big)
    struct.pack_into("<I", lie, lie.rfind(CENTRAL) + 24, 100)  # APPNOTE.TXT 4.3.12: its size
    several = archive(**{f"a{k}": bytes(600_000) for k in range(2)})
    for packed in (big, bytes(lie), several):
        said = refused(unzipped, packed, 10**6)
        assert said.startswith(("expands to more than 1 MB", "is a damaged or locked archive"))
        assert peak(refused, unzipped, packed, 10**6) < 5 * 10**6


def test_an_archive_of_many_files_or_of_unusual_or_broken_ones_is_refused() -> None:
    many = archive(**{f"a{k}": b"" for k in range(ENTRIES + 1)})
    assert refused(unzipped, many, 10**6).startswith(f"is an archive of more than {ENTRIES} files")
    whole = archive(a=b"x" * 1000)
    for packed in (
        archive(zipfile.ZIP_BZIP2, a=b"x" * 1000),
        archive(zipfile.ZIP_LZMA, a=b"x" * 1000),
        *(whole[:k] for k in range(0, len(whole), 7)),
        b"PK\x05\x06" + b"\xff" * 50,
    ):
        assert refused(unzipped, packed, 10**6) == "is a damaged or locked archive; save it again"
