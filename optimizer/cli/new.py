"""`samespin new`: a commented scenario that solves at once, and the schema beside it."""

from __future__ import annotations

import re
import shlex
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from optimizer.cli.schema import NAME
from optimizer.terminal import files, frame, options
from shared.errors import InputError, Problem

PLAIN = re.compile(r"[^\W_][\w .-]{0,60}")
"""A name that is a file name on every system: letters, digits, blank, dot, dash, underscore."""


def new(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="The line's name; NAME.toml is written.")
    ],
    *,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Write a commented scenario NAME.toml that solves at once, and the schema beside it.

    It describes a whole ball for you to change: cover (coverstock), mantle (outer core), block
    (weight block, inner core), materials with the densities that can be poured, and the limits.
    """
    from optimizer.paper.writers import json_
    from optimizer.scenario.text.schema import scenario_schema

    stem = _stem(name)
    scenario, schema = Path(f"{stem}.toml"), Path(NAME)
    wanted = {scenario: text(stem).encode(), schema: json_.text(scenario_schema()).encode()}
    if schema.is_file() and schema.read_bytes() == wanted[schema]:
        del wanted[schema]  # written with another scenario
    files.write(wanted, force=force)
    frame.written(list(wanted), as_json=as_json)
    if not as_json:
        frame.put(f"Next: samespin solve {frame.quoted(scenario)}\n")
    return frame.DONE


def text(name: str) -> str:
    """Return the scenario that `new` writes, under the given name."""
    template = resources.files("optimizer.cli").joinpath("template.toml")
    return (
        template.read_text(encoding="utf-8")
        .replace("{file}", shlex.quote(f"{name}.toml"))
        .replace("{name}", name)
    )


def _stem(name: str) -> str:
    """Return the name without the suffix .toml. Raises InputError for a path."""
    stem = name.removesuffix(".toml")
    if not PLAIN.fullmatch(stem) or stem[-1] in " .":
        instead = (
            "letters, digits, blanks, dots, dashes and underscores, a letter or digit first; it is "
            "written to the current folder"
        )
        raise InputError([Problem("is not a plain name", repr(name), instead)])
    return stem
