"""Texts from elsewhere, as they may be shown."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

UNSHOWN: Final = {"Cc", "Cf", "Cs", "Zl", "Zp"}
"""Unicode's categories of what steers a terminal or a reader's eye instead of being read: control
characters, bidirectional and other format characters, halves of pairs, line separators."""


def safe(text: str) -> str:
    """Return a text without control characters or line breaks, whatever names are in it."""
    return "".join("�" if steers(c) else c for c in text) if not text.isprintable() else text


def steers(letter: str) -> bool:
    """Whether a character steers what shows it."""
    return unicodedata.category(letter) in UNSHOWN


def short(text: str, most: int) -> str:
    """Return a text, or its beginning and its length if that is more than `most` letters.

    >>> short("girdle", 6), short("qqqqqqqqqq", 4)
    ('girdle', 'qqqq… (10 letters)')
    """
    return text if len(text) <= most else f"{text[:most]}… ({len(text)} letters)"


def json_escaped(text: str) -> str:
    r"""Return JSON with such characters as escapes within its strings: the same data.

    >>> print(json_escaped('["\u202e", "\U000e0001"]'))
    ["\u202e", "\udb40\udc01"]
    """
    return re.sub(r"[^\n -~]", lambda m: _escape(m[0]) if steers(m[0]) else m[0], text)


def _escape(letter: str) -> str:
    pairs = letter.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{pairs[k : k + 4]}" for k in range(0, len(pairs), 4))
