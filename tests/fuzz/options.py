"""Command lines on sound files, with one odd value of an option."""

from __future__ import annotations

from random import Random
from typing import Final

from fuzz import values

LINES: Final = (
    "check x.toml --density {}",
    "check x.toml --density cover={}",
    "check x.toml --density cover=1.1 --density mantle=1 --density block={} --density heart=2",
    "solve x.toml --fail-under {}",
    "solve x.toml --apply {} -o y.toml",
    "solve x.toml --for {}",
    "solve x.toml --seed {}",
    "solve x.toml --trade {}",
    "window x.toml {}",
    "sharing x.toml --pours {} -o y.toml",
    "sharing x.toml --moulds {} -o y.toml",
    "schedule x.json --balls {}",
    "schedule x.json --date {}",
    "schedule x.json --verify {}",
    "tolerance x.json --share {}",
    "reconcile x.json --weight {} --cast block=840g",
    "reconcile x.json --weight 15 --cast {}",
    "reconcile x.json --weight 15 --cast block={}",
    "reconcile x.json --weight 15 --cast heart={}g --cast block=2.4",
    "compare x.json {}",
    "report {}",
)
"""Commands on the small scenario and its solution; {} stands for the value."""
USUAL: Final = ("1.1", "1", "840", "2026-02-03", "15", "0.9", "rg", "10s")
UNITS: Final = ("", "", "", "g", "kg", "lb", "s", "min", "%")


def line(random: Random) -> tuple[str, ...]:
    """Return a command line."""
    usual = random.choice(USUAL)
    if random.random() < 0.5:
        value = f"{values.number(random, float(random.choice((1.1, 2.4, 840, 1))))}"
        value += random.choice(UNITS)
    else:
        value = values.text(random, usual)
    value = value.replace("\x00", "")  # no system passes it on
    return tuple(word.format(value) for word in random.choice(LINES).split())
