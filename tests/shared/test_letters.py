"""Texts from elsewhere: nothing in them steers what shows them, and data stays the same."""

from __future__ import annotations

import json
import sys
import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from shared.letters import json_escaped, safe, short

STEERING = [
    *(chr(k) for k in (*range(32), *range(0x7F, 0xA0))),  # C0, delete, C1 (ISO 6429)
    *"\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",  # Unicode annex 9
    *"\u2028\u2029\ufeff\U000e0001\ud800",
]


def test_nothing_that_steers_is_left() -> None:
    assert safe("a" + "".join(STEERING) + "ä") == "a" + "�" * len(STEERING) + "ä"
    assert safe("Genévrier 8.58 in, 15½ – “x”\u00a0…") == "Genévrier 8.58 in, 15½ – “x”\u00a0…"


def test_every_character_is_kept_or_replaced_by_its_category() -> None:
    """By Unicode's own table, through all of it."""
    for code in range(0, sys.maxunicode + 1, 7):
        steers = unicodedata.category(chr(code)) in {"Cc", "Cf", "Cs", "Zl", "Zp"}
        assert (safe(chr(code)) == "�") == (steers or code == 0xFFFD)


@given(st.text(st.characters() | st.sampled_from(STEERING)))
def test_escaped_json_is_the_same_data_and_can_be_written(text: str) -> None:
    data = {text: [text, {"x": text}]}
    escaped = json_escaped(json.dumps(data, ensure_ascii=False, indent=1))
    assert json.loads(escaped) == data
    assert all(c == "\n" or safe(c) == c for c in escaped)
    escaped.encode()


def test_a_text_is_cut_to_its_beginning_and_its_length() -> None:
    assert short("q" * 100_000, 5) == "qqqqq… (100000 letters)"
    assert short("qqqqq", 5) == "qqqqq"
