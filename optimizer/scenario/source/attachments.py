"""The files that a scenario names: read, identified, and carried along with its text.

A name is relative to the scenario's folder. Contents are kept, so that a text that is read again
has the same files to the byte, whatever has happened to them and wherever it is read.
"""

from __future__ import annotations

import base64
import hashlib
import lzma
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, Final, TypeAlias

from pydantic_core import PydanticCustomError

from shared import untrusted
from shared.errors import FileError, InputError, Problem
from shared.letters import safe

MOST: Final = 100_000_000
"""The most bytes of all files together: twice a block of a million triangles as binary STL."""
NEEDED: Final = 100 << 20
"""The most memory for expanding one, bytes: what is packed here needs 9 MB."""
CODED: Final = "xz_base64"
"""How a file's bytes are carried: compressed as .xz, then as base64 (RFC 4648). For a mesh in
text form, two fifths of the size that deflate gives."""

Where: TypeAlias = Path | Mapping[str, bytes]
"""Where the files of a text are: in a folder, or their contents by name."""


@dataclass(frozen=True)
class Files:
    """The files that a text names; `read` has the contents of those read so far, by name."""

    where: Where
    read: dict[str, bytes] = field(default_factory=dict)

    def __call__(self, name: str) -> bytes:
        """Return the content of the file `name`. Raises PydanticCustomError."""
        if name not in self.read:
            self.read[name] = (
                _found(self.where, name)
                if isinstance(self.where, Path)
                else _carried(self.where, name)
            )
            if sum(map(len, self.read.values())) > MOST:
                what = "makes the scenario's files larger than 100 MB together"
                raise _refused(name, what, "name smaller ones")
        return self.read[name]


def _carried(files: Mapping[str, bytes], name: str) -> bytes:
    if name not in files:
        raise _refused(name, "is not included with this text", "read the scenario's own file")
    return files[name]


def _found(folder: Path, name: str) -> bytes:
    """Return the content of a file by its name from `folder`. Raises PydanticCustomError."""
    if _absolute(name):
        instead = "name it from the scenario's folder, with / between folders"
        raise _refused(name, "has a name that does not work on other machines", instead)
    try:
        return untrusted.content(folder / name, MOST, below=folder)
    except FileError as error:
        missing = error.what == untrusted.MISSING
        instead = "name it from the scenario's folder" if missing else error.instead
        raise _refused(name, error.what, instead) from None


def _absolute(name: str) -> bool:
    """Whether a name starts at the root of a disk, or has backslashes."""
    windows = PureWindowsPath(name)
    return "\\" in name or PurePosixPath(name).is_absolute() or bool(windows.drive)


def _refused(name: str, what: str, instead: str) -> PydanticCustomError:
    words = {"what": safe(f'file "{name}" {what}'), "instead": safe(instead)}
    return PydanticCustomError("file", "{what}; {instead}", words)


def check_there(files: Mapping[str, bytes], new: Path, file: str) -> None:
    """Refuse a `new` scenario that would not find the same files. Raises InputError."""
    if problems := list(_astray(files, new, file)):
        raise InputError(problems)


def _astray(files: Mapping[str, bytes], new: Path, file: str) -> Iterator[Problem]:
    for name, content in files.items():
        try:
            if _found(new.parent, name) == content:
                continue
            what = f'names "{name}", but another file has that name there'
        except PydanticCustomError:
            what = f'names "{name}", which is not found from that folder'
        yield Problem(what, instead=f"write it beside {file}, or copy the file", file=str(new))


def digest(content: bytes) -> str:
    """Return the SHA-256 of a file, in hex."""
    return hashlib.sha256(content).hexdigest()


def packed(files: Mapping[str, bytes]) -> dict[str, dict[str, Any]]:
    """Return files as JSON types: size, SHA-256 and content, by name."""
    return {
        name: {
            "bytes": len(content),
            "sha256": digest(content),
            CODED: base64.b64encode(lzma.compress(content)).decode(),
        }
        for name, content in files.items()
    }


def unpacked(packed_files: Any) -> dict[str, bytes]:
    """Return files from JSON types, none for None. Raises ValueError unless `packed` made them."""
    try:
        named = {} if packed_files is None else dict(packed_files.items())
    except AttributeError:
        raise ValueError("its files are not a table") from None
    files = dict[str, bytes]()
    for name, file in named.items():
        room = MOST - sum(map(len, files.values()))
        files[str(name)] = _unpacked(str(name), file, room)
    return files


def _unpacked(name: str, file: Mapping[str, Any], room: int) -> bytes:
    try:
        content = _expanded(file[CODED], room)
    except (KeyError, TypeError, ValueError, lzma.LZMAError):
        raise ValueError(f'the content of its file "{name}" can\'t be read') from None
    if digest(content) != file.get("sha256"):
        raise ValueError(f'its file "{name}" is not the one that was solved (sha256 differs)')
    return content


def _expanded(coded: str, room: int) -> bytes:
    stream = lzma.LZMADecompressor(lzma.FORMAT_XZ, memlimit=NEEDED)
    content = stream.decompress(base64.b64decode(coded, validate=True), room + 1)
    if not stream.eof or len(content) > room:
        raise ValueError("cut short, or larger than any file may be")
    return content
