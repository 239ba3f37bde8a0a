"""The example that studies are tried on."""

from __future__ import annotations

from pathlib import Path

import pytest
from optimizer_texts import plain_juniper

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="session")
def juniper() -> str:
    """Return the text of the example."""
    return (SCENARIOS / "juniper.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def ranges() -> str:
    """Return the text of the example with plain ranges in place of its recipes."""
    return plain_juniper()


@pytest.fixture(scope="session")
def two_pours() -> str:
    """Return the text of the example that can't be."""
    return (SCENARIOS / "two-pours.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def alder() -> str:
    """Return the text of the example with a free target."""
    return (SCENARIOS / "alder.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def yew() -> str:
    """Return the text of the example with three different diameters."""
    return (SCENARIOS / "yew.toml").read_text(encoding="utf-8")
