"""The JSON Schema of the scenario file, for editors."""

from __future__ import annotations

from typing import Any

from optimizer.scenario.text.scenario_text import ScenarioText


def scenario_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scenario, from the models that read it."""
    schema = ScenarioText.model_json_schema(mode="validation")
    for defined in schema["$defs"].values():
        for model in (defined, *defined.get("oneOf", ())):
            # a shape's kind has a default in Python, but is required in a text
            if "const" in model.get("properties", {}).get("kind", {}):
                model["required"] = ["kind", *model.get("required", [])]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "samespin scenario",
    }
