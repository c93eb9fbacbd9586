#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the stub of the Python module to the module: names, members, parameters; has mypy (Debian's) judge it, and right and
wrong uses by it; looks into what help() shows.

Usage: stub_test.py FOLDER_OF_THE_PACKAGE PROJECT_FOLDER
"""
import ast
import inspect
import json
import os
import pathlib
import pydoc
import subprocess
import sys
import tempfile
import unittest

FOLDER, PROJECT = (pathlib.Path(os.path.abspath(word)) for word in sys.argv[1:3])
sys.path.insert(0, str(FOLDER))
import cavigram  # noqa: E402
from cavigram import _core  # noqa: E402

STUB = ast.parse((FOLDER / "cavigram" / "__init__.pyi").read_text(encoding="utf-8"))
CLASSES = {node.name: node for node in STUB.body if isinstance(node, ast.ClassDef)}
FUNCTIONS = {node.name: node for node in STUB.body if isinstance(node, ast.FunctionDef)}


def parameters(node):
    return [argument.arg for argument in node.args.args if argument.arg != "self"], [argument.arg for argument in node.args.kwonlyargs]


def own_parameters(function):
    kinds = inspect.signature(function).parameters.values()
    return ([p.name for p in kinds if p.kind is p.POSITIONAL_OR_KEYWORD and p.name not in ("self", "part")], [p.name for p in kinds if p.kind is p.KEYWORD_ONLY])


class Stub(unittest.TestCase):
    def test_functions(self):
        self.assertEqual(sorted(FUNCTIONS), sorted(name for name in cavigram.__all__ if inspect.isfunction(getattr(cavigram, name))))
        for name, node in FUNCTIONS.items():
            self.assertEqual(parameters(node), own_parameters(getattr(cavigram, name)), name)

    def test_classes(self):
        self.assertEqual(set(CLASSES) - {"Event"}, {name for name in cavigram.__all__ if inspect.isclass(getattr(cavigram, name))})
        for name in set(CLASSES) - {"Event"}:
            own = {member for member in vars(getattr(cavigram, name)) if not member.startswith("_")}
            if name == "Plan":
                own |= {member for member in vars(cavigram._Result) if not member.startswith("_")}
            told = {node.name for node in CLASSES[name].body if isinstance(node, ast.FunctionDef)}
            told |= {node.target.id for node in CLASSES[name].body if isinstance(node, ast.AnnAssign)}
            self.assertTrue(told >= own - {"status"}, f"{name}: {own - told}")
            self.assertTrue(told <= own | {"plan"}, f"{name}: {told - own}")

    def test_schema(self):
        schema = json.loads(_core.schema())
        for name, block in {**schema["$defs"], "Plan": schema}.items():
            told = [node.name for node in CLASSES[name].body if isinstance(node, ast.FunctionDef) and node.decorator_list]
            self.assertEqual([key for key in told if key != "part"], list(block["properties"]))
            self.assertEqual(getattr(cavigram, name).__slots__, tuple(block["properties"]))

    def mypy(self, *arguments):
        return subprocess.run(["/usr/bin/mypy", "--cache-dir=/dev/null", "--strict", *arguments], capture_output=True, text=True, cwd=FOLDER, timeout=120)

    def test_mypy(self):
        right = """import threading
import numpy
import cavigram
plan = cavigram.plan("a.stl", units="mm", density="9lb/ft3", vent=[(1, 2, 3), (4, 5, 6)], up=numpy.zeros(3), copies=2, stop=threading.Event(),
                     progress=lambda stage, share: print(stage, share))
mesh = cavigram.read((numpy.zeros((3, 3)), [[0, 1, 2]]), name="mine")
first: str = cavigram.mend(mesh, mend="gentle", keep_scraps=True).findings[0].text
if plan.batch and plan.part.thickness_mm is not None:
    grams: float = plan.batch.part_a_g + plan.part.thickness_mm.max()
"""
        wrong = ['cavigram.weigh("a.stl", densty="9lb/ft3")', 'cavigram.weigh("a.stl", mend="odd")', "cavigram.weigh(42)", 'cavigram.weigh("a.stl", copies="two")',
                 'cavigram.weigh("a.stl").batch.part_a_g', 'cavigram.mend("a.stl").measures.volum_mm3', 'cavigram.mend("a.stl").measures.volume_mm3 = 1.0']
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "use.py"
            file.write_text(right + "\n".join(wrong) + "\n", encoding="utf-8")
            result = self.mypy(str(file))
        first = right.count("\n") + 1
        lines = {int(line.split(":")[1]) for line in result.stdout.splitlines() if ": error: " in line}
        self.assertEqual(lines, set(range(first, first + len(wrong))), result.stdout)

    def test_help(self):
        text = pydoc.plain(pydoc.render_doc(cavigram))
        for word in ("weigh(", "mold_holds", "Pressure that your strapped mold holds", "volume_mm3", "class NeedsAttention"):
            self.assertIn(word, text)
        for name in (*FUNCTIONS, *CLASSES):
            if name != "Event":
                self.assertTrue(inspect.getdoc(getattr(cavigram, name)), name)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[3:]])
