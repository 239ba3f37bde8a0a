"""The JSON Schema of the scenario file, for editors."""

from __future__ import annotations

from typing import Any

from optimizer.scenario.goals import SENSES
from optimizer.scenario.text.scenario_text import ScenarioText


def scenario_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scenario, from the models that read it."""
    schema = ScenarioText.model_json_schema(mode="validation")
    for defined in schema["$defs"].values():
        for model in (defined, *defined.get("oneOf", ())):
            # a shape's kind has a default in Python, but is required in a text
            if "const" in model.get("properties", {}).get("kind", {}):
                model["required"] = ["kind", *model.get("required", [])]
    _add_goals(schema)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "samespin scenario",
    }


def _add_goals(schema: dict[str, Any]) -> None:
    """Let a number be sought wherever one can be (`scenario/goals.py`)."""
    defs = schema["$defs"]
    goal = {"enum": list(SENSES), "description": "seek the most or the least of it"}
    sought = {
        "properties": {"min": {}, "max": {}, "goal": goal},
        "required": ["min", "max", "goal"],
    }
    defs["Sought"] = {"type": "object", "additionalProperties": False, **sought}
    also = {"$ref": "#/$defs/Sought"}
    schema["properties"]["weights"]["additionalProperties"]["anyOf"].append(also)
    defs["WeightText"]["properties"]["target"] = {
        "anyOf": [defs["WeightText"]["properties"]["target"], also]
    }
    density = defs["MaterialText"]["properties"]["density"]["anyOf"]
    density[1]["items"] = {"anyOf": [density[1]["items"], also]}
    for limit in defs["LimitsText"]["properties"].values():
        name = limit["anyOf"][0].get("$ref", "").rpartition("/")[2]
        ends = defs.get(name, {}).get("properties", {})
        for key in {"min", "max"} & ends.keys():
            ends[key] = {"anyOf": [ends[key], also]}
