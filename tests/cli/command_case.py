# SPDX-License-Identifier: GPL-3.0-or-later
"""What tests of the commands share: the program, a folder of their own with a box in it, and a call that answers in JSON."""
import json
import os
import pathlib
import sys
import tempfile
import unittest

from runner import binary_stl, box, run

PROGRAM = os.path.abspath(sys.argv[1])
PROJECT = pathlib.Path(__file__).resolve().parents[2]
SAMPLES = PROJECT / "sample_meshes"


class BoxCase(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.base = pathlib.Path(self.folder.name)
        (self.base / "box.stl").write_bytes(binary_stl(box(40.0)))

    def tearDown(self):
        self.folder.cleanup()


class CommandCase(BoxCase):
    def run_json(self, *arguments):
        result = run(PROGRAM, *arguments, "--json", "-", cwd=self.base)
        self.assertEqual(result.returncode, 0, result.stderr)
        return json.loads(result.stdout)
