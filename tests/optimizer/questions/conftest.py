"""The example that studies are tried on."""

from __future__ import annotations

import pytest
from optimizer_texts import plain_juniper, shipped


@pytest.fixture(scope="session")
def juniper() -> str:
    """Return the text of the example."""
    return shipped("juniper")


@pytest.fixture(scope="session")
def ranges() -> str:
    """Return the text of the example with plain ranges in place of its recipes."""
    return plain_juniper()


@pytest.fixture(scope="session")
def two_pours() -> str:
    """Return the text of the example that can't be."""
    return shipped("two-pours")


@pytest.fixture(scope="session")
def alder() -> str:
    """Return the text of the example with a free target."""
    return shipped("alder")


@pytest.fixture(scope="session")
def yew() -> str:
    """Return the text of the example with three different diameters."""
    return shipped("yew")
