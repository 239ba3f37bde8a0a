"""`samespin schema`: the JSON Schema of the scenario file."""

from __future__ import annotations

from optimizer.terminal import frame, options

NAME = "samespin.schema.json"
"""The name by which a scenario file refers to the schema beside it."""


def schema(*, as_json: options.Json = False) -> int:  # noqa: ARG001  the schema is JSON either way
    """Print the JSON Schema of the scenario file, for an editor that completes and checks it."""
    from optimizer.scenario.text.schema import scenario_schema

    frame.put_json(scenario_schema())
    return frame.DONE
