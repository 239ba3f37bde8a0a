"""Files are written whole or not at all, and never over existing ones without --force."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from io import FileIO
from itertools import chain
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

import typer

from shared import stopping
from shared.drafts import clear, draft, replaced
from shared.errors import InputError, Problem

if TYPE_CHECKING:
    from optimizer.paper.document import Report
    from optimizer.paper.pictures.picture import Picture
    from optimizer.scenario import Scenario


def check_output(
    path: Path | None, read: Iterable[str], *, force: bool, drawn: bool = False
) -> None:
    """Refuse an output that can't be written; `read` are inputs, `drawn`: moulds can be drawn."""
    if path is None:
        return
    from optimizer.paper.writers.formats import FORMATS

    known = {suffix: format_ for suffix, format_ in FORMATS.items() if drawn or not format_.drawn}
    chosen = known.get(path.suffix.lower())
    if chosen is None:
        what = f"{path}: the suffix must be {' or '.join(known)}"
        raise typer.BadParameter(what, param_hint="'-o'")
    if chosen.required is not None:
        chosen.required()
    refuse(path, read, force=force)


def check_scenario_output(path: Path | None, read: Iterable[str], *, force: bool) -> None:
    """Refuse anything but a TOML file that can be written."""
    if path is None or path.suffix.lower() != ".toml":
        raise typer.BadParameter("name the new scenario: NEW.toml", param_hint="'-o'")
    refuse(path, read, force=force)


def check_same_files(asked: Scenario, output: Path | None) -> None:
    """Refuse a new scenario that would not find the old one's files under the same names."""
    from optimizer.scenario.source.attachments import check_there

    if output is not None:
        check_there(asked.files, output, asked.file)


def check_named(asked: Scenario, output: Path | None) -> None:
    """Refuse an output that is one of the files that the scenario names, such as its drawing."""
    if output is not None:
        folder = Path(asked.file).parent
        _refuse_input(output, (str(folder / name) for name in asked.files))


def check_picture(path: Path | None, read: Iterable[str], *, force: bool) -> None:
    """Refuse a picture that can't be written."""
    if path is None:
        return
    if path.suffix.lower() != ".svg":
        raise typer.BadParameter(f"{path}: name it FILE.svg", param_hint="'--picture'")
    refuse(path, read, force=force)


def _refused(path: Path, what: str, instead: str | None = None) -> InputError:
    return InputError([Problem(what, instead=instead, file=str(path))])


def check_proof(
    path: Path | None, read: Iterable[str], beside: Path | None, *, force: bool
) -> None:
    """Refuse a file of proofs that can't be written, or is the output that it stands `beside`."""
    if path is None:
        return
    if path.suffix.lower() != ".json" or path == beside:
        other = ", not that of -o" if path == beside else ""
        raise typer.BadParameter(f"{path}: name it FILE.json{other}", param_hint="'--proof'")
    refuse(path, read, force=force)


def check_folder(path: Path | None, *, force: bool) -> None:
    """Refuse what is not a folder or, without `force`, a folder with pictures."""
    if path is None:
        return
    if path.exists() and not path.is_dir():
        raise _refused(path, "is a file", "name a folder")
    if not path.parent.is_dir():
        raise _refused(path, f"there is no folder {path.parent}")
    if not force and path.is_dir() and any(path.glob("*.svg")):
        instead = "choose another folder, or overwrite them with --force"
        raise _refused(path, "has pictures already", instead)


def drawn(path: Path | None, draw: Callable[[], Picture]) -> Mapping[Path, bytes]:
    """Return the file of the picture that `draw` makes, if a path is given."""
    return {} if path is None else {path: draw().file().encode()}


def pictures(report: Report, folder: Path | None) -> Mapping[Path, bytes]:
    """Return the files of a report's pictures in a folder, which is created if necessary."""
    from optimizer.paper.document import Pictures

    if folder is None:
        return {}
    folder.mkdir(exist_ok=True)
    shown = [block.whole for block in report.blocks if isinstance(block, Pictures)]
    return {folder / f"{picture.name}.svg": picture.file().encode() for picture in shown}


def save(
    report: Report,
    path: Path | None,
    also: Mapping[Path, bytes] = MappingProxyType({}),
    *,
    force: bool,
    mark: bytes = b"",
) -> tuple[Path, ...]:
    """Write `report` to `path`, after `mark`, and the files `also`; return the paths."""
    from optimizer.paper.writers.formats import written

    contents = {} if path is None else {path: mark + written(report, path)}
    contents |= also
    if contents:
        write(contents, force=force)
    return tuple(contents)


def refuse(path: Path, read: Iterable[str] = (), *, force: bool) -> None:
    """Raise InputError if `path` can't be written or must not be overwritten.

    `read` are the files that the command reads, which are never overwritten.
    """
    if path.is_dir():
        raise _refused(path, "is a folder", "name a file")
    if not path.parent.is_dir():
        raise _refused(path, f"there is no folder {path.parent}")
    if not path.exists():
        return
    _refuse_input(path, read)
    if not force:
        raise _refused(path, "already exists", "choose another name, or overwrite with --force")


def _refuse_input(path: Path, read: Iterable[str]) -> None:
    """Raise InputError if `path` is one of the files `read`, under whatever name."""
    for source in map(Path, read):
        if path.exists() and source.exists() and path.samefile(source):
            name = "" if path == source else f" ({source})"
            what = f"is the file that this command reads{name}"
            raise _refused(path, what, "choose another name")


def write(files: Mapping[Path, bytes], *, force: bool) -> None:
    """Write all `files` as drafts, then move them into place; from then on ignore interrupts."""
    for path in files:
        refuse(path, force=force)
        clear(path)
    drafts = {path: draft(path) for path in files}
    try:
        for path, content in files.items():
            drafts[path].write_bytes(content)
        stopping.finish()
        for path, written in drafts.items():
            _place(written, path, force=force)
    except OSError as error:
        raise _unwritten(error, *files) from error
    finally:
        for unused in drafts.values():
            unused.unlink(missing_ok=True)


def _place(written: Path, path: Path, *, force: bool) -> None:
    """Move a draft into place; without `force` not over what another run has put there just now."""
    if not force:
        try:
            path.hardlink_to(written)
        except FileExistsError:
            refuse(path, force=force)
        except OSError:  # a disk without links
            pass
        else:
            return
    written.replace(path)


def grow(path: Path, head: bytes, lines: Iterator[bytes], *, anew: bool) -> None:
    """Append lines to a file as they come; `anew`, `head` and the first line replace the file.

    Whatever stops this, the lines so far are in the file.
    """
    first = next(lines, None)
    if first is None:
        return
    with disk(path):
        if anew:
            with replaced(path) as new:
                new.write_bytes(head + first)
        stream = FileIO(path, "a")
    with stream:
        for line in lines if anew else chain([first], lines):
            with disk(path):
                _add(stream, line)


def _add(stream: FileIO, line: bytes) -> None:
    """Write the whole line or, if that fails, nothing of it."""
    end, rest = stream.seek(0, os.SEEK_END), memoryview(line)
    try:
        while rest:
            rest = rest[stream.write(rest) :]
    except BaseException:
        with suppress(OSError):
            stream.truncate(end)
        raise


@contextmanager
def disk(path: Path) -> Iterator[None]:
    """Turn the system's error about `path`, such as a full disk, into an InputError."""
    try:
        yield
    except OSError as error:
        raise _unwritten(error, path) from error


def _unwritten(error: OSError, *paths: Path) -> InputError:
    what = f"can't be written ({error.strerror or error})"
    return InputError([Problem(what, file=", ".join(str(path) for path in paths))])
