"""What is said below a model's fields, against what pydantic itself reads there."""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

import pytest
from pydantic import BaseModel, ConfigDict, Field

from shared.descriptions import descriptions
from shared.models import StrictModel

Q = TypeVar("Q")


class Base(StrictModel, Generic[Q]):
    """A generic model."""

    first: Q
    """the first,
    in two lines"""
    second: float = 0.0
    """of the base"""
    bare: float = 0.0


class Own(Base[float]):
    """It says something else of one."""

    second: float = 0.0
    """of its own"""
    named: Annotated[float, Field(alias="as-written")] = 0.0
    """by its key"""


class Plain(BaseModel):
    """Pydantic reads what stands below its fields."""

    model_config = ConfigDict(use_attribute_docstrings=True)
    one: float
    """one line"""
    two: float
    """two lines,
    the second indented"""
    bare: float
    other = staticmethod(len)
    """below no field"""


def test_they_are_those_that_pydantic_reads():
    """The same fields, in a model that has pydantic read them."""
    read = {name: field.description for name, field in Plain.model_fields.items()}
    assert {**dict.fromkeys(read), **descriptions(Plain)} == read
    assert set(read.values()) == {"one line", "two lines,\nthe second indented", None}


def test_a_model_says_what_stands_below_its_own_fields_before_those_of_its_base():
    assert descriptions(Own) == {
        "first": "the first,\nin two lines",
        "second": "of its own",
        "named": "by its key",
    }


@pytest.mark.parametrize("model", [Base[int], Own])
def test_the_schema_has_them_by_key(model):
    keys = model.model_json_schema()["properties"]
    expected = {model.model_fields[k].alias or k: text for k, text in descriptions(model).items()}
    assert {key: s["description"] for key, s in keys.items() if "description" in s} == expected
