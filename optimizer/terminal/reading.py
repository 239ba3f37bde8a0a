"""The option of all commands that read scenarios: whether what is slow to read is remembered."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from typing import Annotated, Any

import typer

from shared import remembered

NoCache = Annotated[
    bool, typer.Option("--no-cache", help="Read all files anew, and keep nothing for next time.")
]


def reading(command: Callable[..., int]) -> Callable[..., int]:
    """Return a command that reads scenarios, with the option --no-cache."""

    @wraps(command)
    def cached(*, no_cache: bool, **options: Any) -> int:
        remembered.use(None if no_cache else remembered.users_folder())
        try:
            return command(**options)
        finally:
            remembered.use(None)

    own = signature(command, eval_str=True)
    option = Parameter("no_cache", Parameter.KEYWORD_ONLY, default=False, annotation=NoCache)
    parameters = [*own.parameters.values(), option]
    cached.__annotations__ = {p.name: p.annotation for p in parameters}
    cached.__signature__ = own.replace(parameters=parameters)  # type: ignore[attr-defined]
    return cached
