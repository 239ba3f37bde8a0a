"""The options of all commands that read scenarios.

What differs in them from what is written, whether what is slow to read is remembered, and where the
files may lie that a scenario names.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from pathlib import Path
from typing import Annotated, Any

import typer

from shared import remembered, untrusted, what_if

NoCache = Annotated[
    bool, typer.Option("--no-cache", help="Read all files anew, and keep nothing for next time.")
]
FilesFrom = Annotated[
    list[Path] | None,
    typer.Option(
        "--files-from",
        metavar="DIR",
        show_default=False,
        help="Files that the scenario names may lie in DIR, too. Without it they lie in its own "
        "folder, or in folders there. Repeat for more.",
    ),
]


Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        show_default=False,
        help="Answer as if the scenario had this value, such as materials.dense.density=[1.2,3.0] "
        "or parts.keel.shape.height=5.5. Repeat for more.",
    ),
]
Case = Annotated[
    str | None,
    typer.Option(
        "--case",
        metavar="NAME",
        show_default=False,
        help="Answer for this one of the scenario's [cases]; --set comes after it.",
    ),
]


def reading(command: Callable[..., int]) -> Callable[..., int]:
    """Return a command that reads scenarios, with these options.

    A command that has a --case of its own, for several, gets that itself.
    """
    own = signature(command, eval_str=True)
    several = "case" in own.parameters

    @wraps(command)
    def set_up(
        *,
        sets: list[str] | None,
        no_cache: bool,
        files_from: list[Path] | None,
        case: Any = None,
        **options: Any,
    ) -> int:
        remembered.use(None if no_cache else remembered.users_folder())
        untrusted.allow(*(files_from or ()))
        asked = what_if.WhatIf(None if several else case, tuple(sets or ()))
        try:
            with what_if.within(asked):
                return command(**options, **({"case": case} if several else {}))
        finally:
            remembered.use(None)
            untrusted.allow()

    more = [("sets", None, Sets), ("files_from", None, FilesFrom), ("no_cache", False, NoCache)]
    if not several:
        more.insert(0, ("case", None, Case))
    parameters = [*own.parameters.values()]
    for name, default, kind in more:
        parameters.append(Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=kind))
    set_up.__annotations__ = {p.name: p.annotation for p in parameters}
    set_up.__signature__ = own.replace(parameters=parameters)  # type: ignore[attr-defined]
    return set_up
