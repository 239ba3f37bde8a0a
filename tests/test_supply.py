"""What samespin is installed with: ranges, the lock, licences."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from licences import FINE, is_permissive, licence, packages, rows
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
LOCK = (ROOT / ".ci/lock.txt").read_text(encoding="utf-8")
ENTRIES = re.findall(r"^(\S+)==(\S+)[^\n]*((?:\n    \S.*)+)", LOCK, re.MULTILINE)


def declared():
    lists = [PROJECT["dependencies"], *PROJECT["optional-dependencies"].values()]
    needed = [Requirement(text) for texts in lists for text in texts]
    return [one for one in needed if one.name != PROJECT["name"]]


def test_the_lock_has_a_version_in_range_of_all_that_is_declared():
    """`make lock` is due where not."""
    for one in declared():
        locked = [version for name, version, _ in ENTRIES if name == canonicalize_name(one.name)]
        assert locked, f"{one.name} isn't locked"
        assert all(version in one.specifier for version in locked), f"{one}: {locked}"


def test_the_lock_names_files_by_their_hashes_and_no_place():
    assert len(ENTRIES) == len(re.findall(r"^\S", LOCK, re.MULTILINE))
    for name, _, hashes in ENTRIES:
        assert re.fullmatch(r"(\n    --hash=sha256:[0-9a-f]{64}( \\)?)+", hashes), name
    assert "/" not in LOCK


def test_every_package_installed_and_every_one_locked_is_in_the_table_of_licences():
    assert set(packages()) > {"numpy", "scipy", "typer"}, "they are found"
    assert set(packages()) - set(rows()) == set()
    assert {name for name, *_ in ENTRIES} == set(rows())


@pytest.mark.parametrize("name", packages())
def test_its_licence_is_permissive_or_it_is_said_why_that_is_fine(name):
    assert is_permissive(licence(name)) or name in FINE, licence(name)


def test_what_is_fine_for_developers_only_is_for_developers_only():
    """As those rows say."""
    assert {name for name in FINE if not rows()[name].endswith("| developers |")} == {
        "cadquery-ocp-novtk"
    }


@pytest.mark.parametrize(
    ("text", "permissive"),
    [
        ("MIT", True),
        ("The MIT License (MIT)", True),
        ("BSD-3-Clause AND 0BSD AND CC0-1.0", True),
        ("GPL-3.0-only OR MIT", True),
        ("MIT AND GPL-3.0-only", False),
        ("MIT License AND GNU General Public License v3 (GPLv3)", False),
        ("MIT License, GNU General Public License v3", False),
        ("Apache License, Version 2.0", True),
        ("MPL-2.0", False),
        ("MITRE", False),
        ("not told", False),
    ],
)
def test_of_alternatives_one_must_be_permissive_of_several_all(text, permissive):
    assert is_permissive(text) is permissive


def test_classifiers_are_known_and_the_licence_is_told_once():
    """An SPDX expression takes the place of classifiers (PEP 639)."""
    known = pytest.importorskip("trove_classifiers").classifiers
    assert set(PROJECT["classifiers"]) <= known
    assert not [one for one in PROJECT["classifiers"] if one.startswith("License")]
    assert metadata.metadata("samespin")["License-Expression"] == PROJECT["license"]
