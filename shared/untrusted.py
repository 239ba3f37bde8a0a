"""Files from elsewhere, read within bounds that are checked before memory is asked for."""

from __future__ import annotations

import io
import stat
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

from shared.errors import FileError

MB: Final = 1_000_000
ENTRIES: Final = 1000
"""The most files in an archive."""
CENTRAL: Final = b"PK\x01\x02"
"""What each file's entry in an archive's directory begins with (APPNOTE.TXT 4.3.12)."""
METHODS: Final = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
"""The compressions of Open Packaging Conventions (ECMA-376-2, annex B)."""
PIECE: Final = 1 << 16
MISSING: Final = "does not exist"
OUTSIDE: Final = "lies outside of the scenario's folder"
ALLOW: Final = "move it there, or allow the folder that it lies in: --files-from DIR"
SMALLER: Final = "save only what is needed in it"


class _State:
    allowed: tuple[Path, ...] = ()


def allow(*folders: Path) -> None:
    """From now on, files may lie in these folders, too, where `content` asks for one `below`."""
    _State.allowed = folders


def content(path: Path, most: int, *, below: Path | None = None) -> bytes:
    """Return the bytes of an ordinary file that has at most `most`. Raises FileError.

    The file lies in the folder `below`, or in one that is allowed, whatever links lead to it.
    """
    what, instead = f"is larger than {most / MB:g} MB", "name a smaller one"
    try:
        if below is not None and not _lies_in(path, (below, *_State.allowed)):
            what, instead = OUTSIDE, ALLOW
        elif stat.S_ISREG((kind := path.stat()).st_mode):
            if kind.st_size <= most:
                with path.open("rb") as stream:
                    read = stream.read(most + 1)
                if len(read) <= most:
                    return read
        elif stat.S_ISDIR(kind.st_mode):
            what, instead = "is a folder", "name a file in it"
        else:  # a pipe or a device may never end
            what, instead = "is not an ordinary file", "name one that is"
    except (FileNotFoundError, NotADirectoryError):
        what, instead = MISSING, "check its name"
    except (OSError, ValueError, RuntimeError) as error:  # of the name, or links in a ring
        what = f"can't be read: {getattr(error, 'strerror', None) or error}"
        instead = "check its name and who may read it"
    raise FileError(what, instead)


def _lies_in(path: Path, folders: Iterable[Path]) -> bool:
    real = path.resolve()
    return any(real.is_relative_to(folder.resolve()) for folder in folders)


def unzipped(archive: bytes, most: int) -> dict[str, bytes]:
    """Return the files in a ZIP archive by name, at most `most` bytes together. Raises FileError.

    What the archive says of sizes is not relied on: pieces are expanded one at a time and counted.
    """
    if archive.count(CENTRAL) > ENTRIES:
        raise FileError(f"is an archive of more than {ENTRIES} files", SMALLER)
    files, room = dict[str, bytearray](), most
    try:
        with zipfile.ZipFile(io.BytesIO(archive)) as opened:
            for name, piece in _pieces(opened):
                files.setdefault(name, bytearray()).extend(piece)
                room -= len(piece)
                if room < 0:
                    break
    except Exception as error:  # whatever a damaged archive makes it raise
        raise FileError("is a damaged or locked archive", "save it again") from error
    if room < 0:
        raise FileError(f"expands to more than {most / MB:g} MB", SMALLER)
    return {name: bytes(held) for name, held in files.items()}


def _pieces(archive: zipfile.ZipFile) -> Iterator[tuple[str, bytes]]:
    """Yield the pieces of each file, at least one. Raises BadZipFile for other compressions."""
    for entry in {entry.filename: entry for entry in archive.infolist()}.values():
        if entry.compress_type not in METHODS:
            raise zipfile.BadZipFile
        yield entry.filename, b""
        with archive.open(entry) as stream:
            while piece := stream.read(PIECE):
                yield entry.filename, piece


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Return files as a ZIP archive without compression: for readers that would expand one."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, held in files.items():
            archive.writestr(name, held)
    return out.getvalue()
