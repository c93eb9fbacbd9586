# SPDX-License-Identifier: GPL-3.0-or-later
"""A part's mesh in; grams, vents and a pour plan out.

    import cavigram
    plan = cavigram.plan("cleat.stl", units="mm", density="9lb/ft3")
    print(plan.batch.part_a_g, plan.batch.part_b_g)

`mend`, `measure`, `weigh`, `vent`, `orient`, `plan` and the others do what the program's commands do, with its options as
keywords (`mold_holds` for --mold-holds), and give a `Plan`: its attributes are the keys of docs/json.md. `read` gives a mesh
once for several calls. Meshes are paths, pairs of arrays, or what `read` gave. Errors are `cavigram.Error` and what is below it.
"""
import atexit as _atexit
import difflib as _difflib
import inspect as _inspect
import json as _json
import numbers as _numbers
import os as _os

import numpy as _numpy

from . import _core
from ._core import Mesh, Part

__version__ = _core.version

# A computation that was left must not outlive what it stands on.
_atexit.register(_core.wait)


# ---- errors -------------------------------------------------------------------------------------


class Error(Exception):
    """What stops the work: one plain sentence that says what, where, and what to do. `status` is the program's exit status."""

    status = 4


class NeedsAttention(Error):
    """The plan was made, but a finding says stop: as it stands it must not be poured. `plan` holds it all the same."""

    status = 1
    plan = None


class BadOption(Error, ValueError):
    """An option out of range, a quantity of the wrong kind, options or a card that contradict each other."""

    status = 2


class BadFile(Error):
    """The mesh can't be read or used: no such file, no mesh in it, none that can be made closed."""

    status = 3


class NotWritten(Error):
    """A result can't be written."""

    status = 3


class NotEnoughMemory(Error, MemoryError):
    """There is not enough memory for this part."""

    status = 3


class InternalError(Error):
    """A fault of the program, which should be reported."""


class Stopped(Error):
    """`stop` said so. Nothing half done is kept."""

    status = 130


# ---- results ------------------------------------------------------------------------------------


class Block:
    """A block of results, read-only. Its attributes are the keys that docs/json.md tells; a key that is not there is None."""

    __slots__ = ()
    _inner = {}  # by key: the class of the block, or of the blocks in the list, that it holds

    def __init__(self, values):
        for key, value in values.items():
            object.__setattr__(self, key, _made_of(value, self._inner.get(key)))

    def __getattr__(self, key):
        if key in self.__slots__:
            return None
        raise AttributeError(f"{type(self).__name__} has no {key}{_nearest(key, self.__slots__)}")

    def __setattr__(self, key, value):
        raise AttributeError("results are read-only")

    def __delattr__(self, key):
        raise AttributeError("results are read-only")

    def as_dict(self):
        """The same as plain dicts and lists, without the keys that are not there: what JSON holds."""
        return {key: _plain(object.__getattribute__(self, key)) for key in self.__slots__ if _holds(self, key)}

    def __eq__(self, other):
        return type(self) is type(other) and self.as_dict() == other.as_dict()

    __hash__ = None

    def __repr__(self):
        return f"{type(self).__name__}({', '.join(f'{key}={getattr(self, key)!r}' for key in self.__slots__ if _holds(self, key))})"

    def __reduce__(self):
        return type(self), (self.as_dict(),)


def _holds(block, key):
    try:
        object.__getattribute__(block, key)
    except AttributeError:
        return False
    return True


# Lists become tuples: nobody may change a result in place.
def _made_of(value, block):
    if isinstance(value, list):
        return tuple(_made_of(one, block) for one in value)
    return block(value) if block and isinstance(value, dict) else value


def _plain(value):
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value.as_dict() if isinstance(value, Block) else value


def _nearest(word, words):
    nearest = _difflib.get_close_matches(word, words, 1)
    return f"; did you mean {nearest[0]}?" if nearest else ""


def _described(key, field):
    return f"{key}: {field['description']}" if "description" in field else key


def _block_class(name, description, base=Block):
    fields = description["properties"]
    told = "\n".join(f"    {_described(key, field)}" for key, field in fields.items())
    return type(name, (base,), {"__slots__": tuple(fields), "__module__": __name__, "_inner": {},
                                "__doc__": f"{description['description']}\n\n{told}\n"})


# The class of the block that a key's value is, or is a list of.
def _inner_of(field, classes):
    for form in (field, field.get("items", {}), *field.get("anyOf", ())):
        if "$ref" in form:
            return classes[form["$ref"].rsplit("/", 1)[1]]
    return None


class _Result(Block):
    """What a call made."""

    __slots__ = ("_made",)

    def __init__(self, made):
        object.__setattr__(self, "_made", made)
        super().__init__(_json.loads(made.json()))

    def __repr__(self):
        return f"<cavigram.Plan of {self.input.file} by {self._made.command}>"

    @property
    def part(self):
        """The mended part as arrays, with what was found at each vertex (`Part`)."""
        return self._made.part

    def to_json(self):
        """The bytes that the program writes for the same call (`--json`), as text."""
        return self._made.json()

    def text(self, *, first_units="metric", detail=False):
        """What the program prints for the same call; `first_units="us"`: US units come first."""
        return self._made.text(_is_us(first_units), bool(detail))

    def write(self, folder, *, first_units="metric"):
        """Writes the files of a whole plan, pour sheet, templates and all, into a folder that is made; gives their paths.

        Only for what plan() gave."""
        if self._made.command != "plan":
            raise BadOption(f"{self._made.command} makes no files; call plan, and write what it gives.")
        return self._made.write(_os.fsencode(folder), _is_us(first_units))

    def __reduce__(self):
        raise TypeError("a plan holds arrays of the library; pickle its as_dict() or to_json()")


def _is_us(first_units):
    if first_units not in ("metric", "us"):
        raise BadOption(f'first_units is "{first_units}"; give metric or us.')
    return first_units == "us"


def _made_classes():
    schema = _json.loads(_core.schema())
    classes = {name: _block_class(name, description) for name, description in schema["$defs"].items()}
    classes["Plan"] = _block_class("Plan", schema, _Result)
    for name, description in {**schema["$defs"], "Plan": schema}.items():
        for key, field in description["properties"].items():
            inner = _inner_of(field, classes)
            if inner:
                classes[name]._inner[key] = inner
    return classes


_classes = _made_classes()
globals().update(_classes)


# ---- what calls are given -----------------------------------------------------------------------


def _number_text(value):
    return str(int(value)) if isinstance(value, _numbers.Integral) else repr(float(value))


# As the program reads it: a place is "12.0,0.0,40.5", a file its name.
def _text(value, keyword):
    if isinstance(value, (str, bytes, _os.PathLike)):
        return _os.fsencode(value)
    if isinstance(value, _numbers.Real) and not isinstance(value, bool):
        return _number_text(value).encode()
    try:
        return ",".join(_number_text(one) for one in value).encode()
    except (TypeError, ValueError):
        raise TypeError(f"{keyword} is {value!r}; give text, a number, or numbers") from None


def _is_several(value):
    return not isinstance(value, (str, bytes, _os.PathLike)) and hasattr(value, "__iter__") and not all(
        isinstance(one, _numbers.Real) for one in value)


def _texts(row, keyword, value):
    if row["flag"]:
        if not isinstance(value, (bool, _numpy.bool_)):
            raise TypeError(f"{keyword} is {value!r}; give True or False")
        return [b"true"] if value else []
    return [_text(one, keyword) for one in (value if row["list"] and _is_several(value) else [value])]


def _rows(command):
    return {row["name"].replace("-", "_"): row for row in _core.options(command)}


def _values(name, rows, given):
    values = {}
    for keyword, value in given.items():
        if keyword not in rows:
            raise TypeError(f"{name}() has no option {keyword}{_nearest(keyword, rows)}")
        if value is not None:
            texts = _texts(rows[keyword], keyword, value)
            if texts:
                values[rows[keyword]["name"]] = texts
    return values


def _rows_of_three(array, what, kinds):
    array = _numpy.asarray(array)
    if array.ndim != 2 or array.shape[1] != 3 or array.dtype.kind not in kinds:
        wanted = "whole numbers" if kinds == "iu" else "numbers"
        raise BadOption(f"{what} are of shape {array.shape} and type {array.dtype}; give rows of three {wanted}.")
    return array


# None: the job names the file.
def _mesh(mesh):
    if mesh is None or isinstance(mesh, Mesh):
        return b"", mesh
    if isinstance(mesh, (str, bytes, _os.PathLike)):
        return _os.fsencode(mesh), None
    if isinstance(mesh, (tuple, list)) and len(mesh) == 2:
        return b"", _mesh_of(*mesh, "arrays")
    raise TypeError(f"a mesh is a path, a pair of arrays (vertices, triangles), or what read() gives; not {type(mesh).__name__}")


def _mesh_of(vertices, triangles, name):
    vertices = _rows_of_three(vertices, "vertices", "fiu")
    return _core.mesh_of(vertices, _rows_of_three(triangles, "triangles", "iu"), _os.fsencode(name))


# An event of threading, or a function.
def _asked(stop):
    return getattr(stop, "is_set", stop)


# ---- calls --------------------------------------------------------------------------------------


def read(mesh, *, partial=False, name=None, stop=None, progress=None):
    """The mesh of a file, or of a pair of arrays (vertices N x 3, triangles M x 3), as it is, for one or several calls.

    Calls that take it compute only what depends on what changed since the last one.

    partial: take what is there of a file that is cut off
    name: what arrays are called
    stop, progress: as for the others
    """
    file, given = _mesh(mesh)
    if file:
        return _core.read(file, bool(partial), _asked(stop), progress)
    if given is None or isinstance(mesh, Mesh):
        raise TypeError("read() takes a path or a pair of arrays")
    return given if name is None else _mesh_of(*mesh, name)


# What the functions are called here, and whose command each is.
_COMMANDS = {"mend": "inspect", "measure": "thin", "weigh": "weigh", "vent": "vent", "orient": "orient", "bench": "bench",
             "split": "split", "mold": "mold", "handle": "handle", "rise": "rise", "plan": "plan"}


def _doc(command, rows):
    lines = [f"{_core.help(command)}.", "", f"As the program's {command}.", "",
             "mesh: a path, a pair of arrays (vertices, triangles), or what read() gave; left out where a job names the file", "",
             "Options; quantities take a unit:"]
    group = None
    for keyword, row in rows.items():
        if row["group"] != group:
            group = row["group"]
            lines += ["", f"{group}"]
        takes = "True or False" if row["flag"] else " or ".join(row["words"]) or f"{row['takes']}, such as {row['example']}"
        lines.append(f"    {keyword}: {row['help']} ({takes})")
    lines += ["", "stop: an event (threading.Event) or a function; when it is set, or says True, Stopped is raised",
              "progress: a function of the stage's name and the share of it that is done, 0 to 1", "",
              "Raises NeedsAttention, which holds the plan, if a finding says stop; BadOption, BadFile."]
    return "\n".join(lines)


def _function(name, command):
    rows = _rows(command)

    def call(mesh=None, *, stop=None, progress=None, **options):
        values = _values(name, rows, options)
        file, given = _mesh(mesh)
        plan = _classes["Plan"](_core.call(command, file, given, values, _asked(stop), progress))
        if plan._made.stops:
            error = NeedsAttention(" ".join(plan._made.stops))
            error.plan = plan
            raise error
        return plan

    keyword = _inspect.Parameter.KEYWORD_ONLY
    call.__signature__ = _inspect.Signature(
        [_inspect.Parameter("mesh", _inspect.Parameter.POSITIONAL_OR_KEYWORD, default=None)]
        + [_inspect.Parameter(word, keyword, default=None) for word in (*rows, "stop", "progress")])
    call.__name__ = call.__qualname__ = name
    call.__doc__ = _doc(command, rows)
    return call


_functions = {name: _function(name, command) for name, command in _COMMANDS.items()}
globals().update(_functions)


def _findings(mesh):
    """What was noticed while reading, as findings of a plan."""
    return tuple(_classes["Finding"](finding) for finding in mesh._findings)


def _skin_distance_mm(part, places_mm, *, stop=None):
    """How deep places (N x 3, in mm) lie below the part's surface; less than 0 outside of it.

    Skin reaches as deep as foam.skin_thickness_mm, and what is deeper is core."""
    places = _rows_of_three(places_mm, "places_mm", "fiu")
    if not _numpy.isfinite(places).all():
        raise BadOption("places_mm hold what is no number; leave those places out.")
    return part._skin_distance_mm(places, _asked(stop))


Mesh.findings = property(_findings, doc=_findings.__doc__)
Part.skin_distance_mm = _skin_distance_mm
_skin_distance_mm.__name__ = _skin_distance_mm.__qualname__ = "skin_distance_mm"

__all__ = ["read", *_functions, "Mesh", "Part", "Block", *_classes,
           "Error", "NeedsAttention", "BadOption", "BadFile", "NotWritten", "NotEnoughMemory", "InternalError", "Stopped"]
