"""The options of all commands that read scenarios.

Whether what is slow to read is remembered, and where the files may lie that a scenario names.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from pathlib import Path
from typing import Annotated, Any

import typer

from shared import remembered, untrusted

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


def reading(command: Callable[..., int]) -> Callable[..., int]:
    """Return a command that reads scenarios, with the options --no-cache and --files-from."""

    @wraps(command)
    def set_up(*, no_cache: bool, files_from: list[Path] | None, **options: Any) -> int:
        remembered.use(None if no_cache else remembered.users_folder())
        untrusted.allow(*(files_from or ()))
        try:
            return command(**options)
        finally:
            remembered.use(None)
            untrusted.allow()

    own = signature(command, eval_str=True)
    more = (("files_from", None, FilesFrom), ("no_cache", False, NoCache))
    parameters = [*own.parameters.values()]
    for name, default, kind in more:
        parameters.append(Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=kind))
    set_up.__annotations__ = {p.name: p.annotation for p in parameters}
    set_up.__signature__ = own.replace(parameters=parameters)  # type: ignore[attr-defined]
    return set_up
