"""The grammar of a scenario file, one table a model, and its JSON Schema."""
