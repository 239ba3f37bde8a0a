"""The check of a scenario: its parts, walls and recipes, and its balls where they are fixed."""
