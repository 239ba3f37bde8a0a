"""No command writes over the file that it reads, whatever is typed."""

from __future__ import annotations

import pytest

LINES = [
    ("solve", "FILE", "-o", "FILE.json"),
    ("solve", "FILE", "-o", "FILE.toml", "--apply", "1"),
    ("solve", "FILE", "--trade", "rg", "--picture", "FILE.svg"),
    ("schedule", "FILE", "-o", "FILE.html"),
    ("report", "FILE", "-o", "FILE.html"),
    ("report", "FILE", "FILE.html"),  # its own name
    ("compare", "alder.toml", "FILE", "-o", "FILE.csv"),
    ("window", "FILE", "-o", "FILE.json"),
    ("window", "FILE", "--picture", "FILE.svg"),
    ("sharing", "FILE", "-o", "FILE.csv"),
    ("sharing", "FILE", "-o", "FILE.toml", "--pours", "9"),
    ("explore", "FILE", "-o", "FILE.csv", "--samples", "1"),
    ("explore", "FILE", "-o", "x.csv", "--samples", "1", "--picture", "FILE.svg"),
]


@pytest.mark.parametrize("line", LINES, ids=" ".join)
def test_no_command_writes_over_what_it_reads(line, samespin, folder) -> None:
    """The file has the suffix that is written, and holds a scenario; --force is no leave."""
    name = next(word for word in line if word.startswith("FILE.")).replace("FILE", "it")
    before = (folder / "alder.toml").read_bytes()
    (folder / name).write_bytes(before)
    named = [name if word.startswith("FILE") else word for word in line]
    arguments = named[:2] if line[2] == "FILE.html" else named
    ran = samespin(*arguments, "--force")
    assert ran.code == 3
    assert ran.err == f"{name}: is the file that this command reads; choose another name\n"
    assert (folder / name).read_bytes() == before
