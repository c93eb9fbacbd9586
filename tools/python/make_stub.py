#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the stub of the Python module, from the same descriptions of results and options that the module is made of.

Usage: make_stub.py FOLDER_OF_THE_PACKAGE STUB
"""
import json
import pathlib
import sys

HEAD = '''# Made by tools/python/make_stub.py.
import os
from collections.abc import Callable, Sequence
from typing import Any, ClassVar, Literal, Protocol, TypeAlias

import numpy
from numpy.typing import ArrayLike, NDArray

__version__: str

StrPath: TypeAlias = str | bytes | os.PathLike[str]
MeshLike: TypeAlias = StrPath | tuple[ArrayLike, ArrayLike] | Mesh
Place: TypeAlias = tuple[float, float, float]
PlaceLike: TypeAlias = str | Sequence[float] | NDArray[Any]

class Event(Protocol):
    def is_set(self) -> bool: ...

Stop: TypeAlias = Event | Callable[[], object]
Progress: TypeAlias = Callable[[str, float], object]

class Error(Exception):
    status: ClassVar[int]

class NeedsAttention(Error):
    plan: Plan

class BadOption(Error, ValueError): ...
class BadFile(Error): ...
class NotWritten(Error): ...
class NotEnoughMemory(Error, MemoryError): ...
class InternalError(Error): ...
class Stopped(Error): ...

class Mesh:
    @property
    def vertices(self) -> NDArray[numpy.float64]: ...
    @property
    def triangles(self) -> NDArray[numpy.int32]: ...
    @property
    def name(self) -> str: ...
    @property
    def format(self) -> str: ...
    @property
    def unit_mm(self) -> float | None: ...
    @property
    def findings(self) -> tuple[Finding, ...]: ...

class Part:
    @property
    def vertices(self) -> NDArray[numpy.float64]: ...
    @property
    def triangles(self) -> NDArray[numpy.int32]: ...
    @property
    def thickness_mm(self) -> NDArray[numpy.float64] | None: ...
    @property
    def triangle_thickness_mm(self) -> NDArray[numpy.float64] | None: ...
    @property
    def density_kg_m3(self) -> NDArray[numpy.float64] | None: ...
    @property
    def arrival_s(self) -> NDArray[numpy.float64] | None: ...
    def skin_distance_mm(self, places_mm: ArrayLike, *, stop: Stop | None = None) -> NDArray[numpy.float64]: ...

class Block:
    def as_dict(self) -> dict[str, Any]: ...

def read(
    mesh: StrPath | tuple[ArrayLike, ArrayLike],
    *,
    partial: bool = False,
    name: str | None = None,
    stop: Stop | None = None,
    progress: Progress | None = None,
) -> Mesh: ...
'''

PLAN = '''    @property
    def part(self) -> Part: ...
    def to_json(self) -> str: ...
    def text(self, *, first_units: Literal["metric", "us"] = "metric", detail: bool = False) -> str: ...
    def write(self, folder: StrPath, *, first_units: Literal["metric", "us"] = "metric") -> list[str]: ...
'''

# By how what an option takes begins; the first that fits.
TAKES = [("a whole number", "int"), ("a number", "float"), ("a share", "str | float"), ("a direction", "PlaceLike"), ("a place", "PlaceLike"),
         ("a file", "StrPath"), ("a card's name", "StrPath"), ("", "str")]


def literal(words):
    return f"Literal[{', '.join(json.dumps(word) for word in words)}]"


def field_type(field):
    """What a key of the schema holds."""
    if "anyOf" in field:
        return " | ".join(field_type(form) for form in field["anyOf"])
    if "$ref" in field:
        return field["$ref"].rsplit("/", 1)[1]
    if "enum" in field:
        return literal(field["enum"])
    if field["type"] == "array":
        return "Place" if field.get("maxItems") == 3 else f"tuple[{field_type(field['items'])}, ...]"
    return {"number": "float", "integer": "int", "string": "str", "boolean": "bool", "null": "None"}[field["type"]]


def docstring(text, indent):
    """Where an editor looks for it."""
    lines = "\n".join(indent + line if line else "" for line in text.split("\n"))
    quotes = '"""'
    return f"{indent}{quotes}{lines.lstrip()}{quotes}\n"


def block_text(name, description, base="Block", more=""):
    fields = "".join(
        f"    @property\n    def {key}(self) -> {field_type(field)}{'' if key in description['required'] else ' | None'}:\n"
        + docstring(field.get("description", key), 8 * " ") for key, field in description["properties"].items())
    return f"\nclass {name}({base}):\n{docstring(description['description'], 4 * ' ')}{fields}{more}"


def option_type(row):
    if row["flag"]:
        return "bool"
    one = literal(row["words"]) if row["words"] else next(kind for takes, kind in TAKES if row["takes"].startswith(takes))
    return f"{one} | Sequence[{one}]" if row["list"] else one


def function_text(name, rows, told):
    options = "".join(f"    {keyword}: {option_type(row)} | None = None,\n" for keyword, row in rows.items())
    return (f"\ndef {name}(\n    mesh: MeshLike | None = None,\n    *,\n{options}"
            "    stop: Stop | None = None,\n    progress: Progress | None = None,\n) -> Plan:\n" + docstring(told, 4 * " "))


def main():
    sys.path.insert(0, sys.argv[1])
    import cavigram  # noqa: E402
    from cavigram import _core  # noqa: E402

    schema = json.loads(_core.schema())
    text = HEAD
    for name, description in schema["$defs"].items():
        text += block_text(name, description)
    text += block_text("Plan", schema, more=PLAN)
    for name, command in cavigram._COMMANDS.items():
        text += function_text(name, cavigram._rows(command), getattr(cavigram, name).__doc__)
    text += f"\n__all__ = {json.dumps(cavigram.__all__)}\n"
    pathlib.Path(sys.argv[2]).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
