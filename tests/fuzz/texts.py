"""Changes of a file as text or as bytes, and writers of trees."""

from __future__ import annotations

import io
import json
import re
import struct
import zipfile
from collections.abc import Iterable, Mapping
from random import Random
from typing import Any, Final

from fuzz import values

NUMBER: Final = re.compile(rb"(?<![\w.])[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?(?![\w.])")
TOKENS: Final = (b"nan", b"inf", b"-inf", b"1e999", b"0", b"-0", b"-1", b"1e308", b"1e-308",
             b"99999999999999999999",
                 b"0x1f", b"1_000", b"1,5", b"", b"x", b"1e", b"--1", b"+", b".5",
                 b"5.")  # fmt: skip
TAGS: Final = (
    "0", "10", "20", "42", "62", "70", "90", "-1", "999", "LINE", "SPLINE", "ENDSEC", "INSERT",
)  # fmt: skip
ODD: Final = (
    b"\x00", b"\x1b[31m", b"\xff\xfe", b"\xef\xbb\xbf", b"\xe2\x80\xae", b"\xc3", b"\xed\xa0\x80",
    b"\r", b"\n\n", b"\t", b'"', b"'", b'"""', b"[", b"]", b"{", b"}", b"=", b",", b"#", b"<", b"&",
    b"\\", b"\x7f",
)  # fmt: skip


def mutated(random: Random, content: bytes) -> bytes:
    """Return a changed file: mostly one change, sometimes several."""
    for _ in range(random.choice((1, 1, 1, 2, 4))):
        content = _changed(random, content)
    return content


def _changed(random: Random, content: bytes) -> bytes:
    at = random.randrange(len(content) + 1)
    match random.randrange(16):
        case 0:
            return content[:at]
        case 1:
            return content[:at] + content[at + random.choice((1, 2, 10, 100, 1000)) :]
        case 2:
            return content[:at] + random.choice(ODD) + content[at:]
        case 3:
            flipped = (
                bytes([content[at] ^ (1 << random.randrange(8))]) if at < len(content) else b""
            )
            return content[:at] + flipped + content[at + 1 :]
        case 4:
            return random.choice(ODD) + content
        case 5:
            return content.replace(b"\n", random.choice((b"\r\n", b"\r", b"\n\n", b" ", b"")))
        case 6:
            return content + random.choice(
                (content, content[:at], b"\x00" * 100, random.choice(ODD))
            )
        case 7:
            return _encoded(random, content)
        case 8:
            return (
                content[:at]
                + random.choice((b"[", b"{", b'{"a":', b"(", b"a.", b" ", b"9")) * 3000
                + content[at:]
            )
        case 9 | 10:
            return _lines(random, content)
        case 11:
            return content[at:]
        case _:
            return _token(random, content)


def _encoded(random: Random, content: bytes) -> bytes:
    """Return a text in another encoding."""
    text = content.decode("utf-8", "replace")
    return text.encode(
        random.choice(("utf-16", "utf-32", "latin-1", "utf-8-sig", "cp437")), "replace"
    )


def _lines(random: Random, content: bytes) -> bytes:
    """Return a text with a line doubled, gone or elsewhere."""
    lines = content.splitlines(keepends=True)
    if not lines:
        return content
    at, to = random.randrange(len(lines)), random.randrange(len(lines))
    match random.randrange(4):
        case 0:
            lines.insert(to, lines[at])
        case 1:
            del lines[at]
        case 2:
            lines[at], lines[to] = lines[to], lines[at]
        case _:
            lines[at : at + 1] = [lines[at]] * random.choice((2, 50))
    return b"".join(lines)


def _token(random: Random, content: bytes) -> bytes:
    """Return a text with another number somewhere."""
    found = list(NUMBER.finditer(content))
    if not found:
        return content
    start, end = random.choice(found).span()
    old = content[start:end]
    new = random.choice((*TOKENS, str(values.number(random, float(old))).encode()))
    return content[:start] + new + content[end:]


def floats(random: Random, content: bytes, start: int, step: int) -> bytes:
    """Return binary content with one of the 32-bit floats from `start` on replaced."""
    many = (len(content) - start - 4) // step
    if many <= 0:
        return content
    at = start + step * random.randrange(many)
    value = random.choice(
        (float("nan"), float("inf"), 0.0, -1.0, 3e38, 1e-40, random.uniform(-5, 5))
    )
    return content[:at] + struct.pack("<f", value) + content[at + 4 :]


def rearchived(random: Random, content: bytes) -> bytes:
    """Return a zip archive with one of its members changed, renamed or gone."""
    with zipfile.ZipFile(io.BytesIO(content)) as old:
        members = [(name, old.read(name)) for name in old.namelist()]
    at = random.randrange(len(members))
    name, inner = members[at]
    match random.randrange(8):
        case 0:
            del members[at]
        case 1:
            members[at] = (values.text(random, name).replace("\x00", "") or "x", inner)
        case _:
            members[at] = (name, mutated(random, inner))
    return archive(members)


def archive(members: Iterable[tuple[str, bytes]]) -> bytes:
    """Return a zip archive of these members, the same each time."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name, inner in members:
            new.writestr(zipfile.ZipInfo(name[:200]), inner)
    return stream.getvalue()


def tag(random: Random, line: str) -> list[str]:
    """Return what stands in place of a line of a drawing."""
    match random.randrange(6):
        case 0:
            return []
        case 1:
            return [line, line]
        case 2:
            return [random.choice(TAGS)]
        case _:
            try:
                return [str(values.number(random, float(line)))]
            except ValueError:
                return [values.text(random, line)]


def toml(random: Random, tree: Mapping[str, Any]) -> str:
    """Return a tree as TOML, its tables under headings or inline."""
    plain, below = list[str](), list[str]()
    for key, value in tree.items():
        if isinstance(value, dict) and random.random() < 0.8:
            below.append(f"[{_key(key)}]\n" + _pairs(value))
        elif (
            key == "parts"
            and isinstance(value, list)
            and value
            and all(isinstance(v, dict) for v in value)
        ):
            below += [f"[[{_key(key)}]]\n" + _pairs(v) for v in value]
        else:
            plain.append(f"{_key(key)} = {_inline(value)}\n")
    return "".join(plain + below)


def _pairs(table: Mapping[str, Any]) -> str:
    return "".join(f"{_key(key)} = {_inline(value)}\n" for key, value in table.items())


def _key(key: object) -> str:
    text = str(key)
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else _inline(text)


def _inline(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, list):
        return f"[{', '.join(map(_inline, value))}]"
    if isinstance(value, dict):
        return f"{{{', '.join(f'{_key(k)} = {_inline(v)}' for k, v in value.items())}}}"
    return "" if value is None else str(value)
