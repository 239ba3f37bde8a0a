"""The grammar of a scenario file, one model for each table, and its JSON Schema."""
