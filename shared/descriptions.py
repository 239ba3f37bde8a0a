"""What the docstring below a model's field says of it, read when it is asked for.

Pydantic would read them whenever a model is made, which takes a quarter of a short command's time;
they are needed only for an error and for the schema.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Iterator
from functools import cache
from itertools import pairwise

from pydantic import BaseModel


@cache
def descriptions(model: type[BaseModel]) -> dict[str, str]:
    """Return the docstring below each field of a model: its own, or that of one it extends."""
    every: dict[str, str] = {}
    for cls in reversed(model.__mro__[: model.__mro__.index(BaseModel)]):
        every |= _by_class(cls.__module__).get(cls.__name__, {})
    return {name: every[name] for name in model.model_fields if name in every}


@cache
def _by_class(module: str) -> dict[str, dict[str, str]]:
    """Return what stands below the fields of each class of a module."""
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    classes = (node for node in tree.body if isinstance(node, ast.ClassDef))
    return {node.name: dict(_below_fields(node)) for node in classes}


def _below_fields(node: ast.ClassDef) -> Iterator[tuple[str, str]]:
    for field, below in pairwise(node.body):
        match field, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                yield name, inspect.cleandoc(text)
