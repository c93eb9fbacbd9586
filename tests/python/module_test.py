#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the Python module to the program's answers for the same calls, byte for byte, and to closed forms; arrays to files; errors to the
program's sentences and exit statuses; and stops it, from a listener, from another thread, and as a person does by Ctrl-C.

Usage: module_test.py FOLDER_OF_THE_PACKAGE PROGRAM PROJECT_FOLDER
"""
import json
import os
import pathlib
import pickle
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest

import numpy

FOLDER, PROGRAM, PROJECT = (pathlib.Path(os.path.abspath(word)) for word in sys.argv[1:4])
sys.path[:0] = [str(FOLDER), str(pathlib.Path(__file__).parent)]
import box  # noqa: E402
import cavigram  # noqa: E402

SAMPLES = PROJECT / "sample_meshes"
CLEAT = SAMPLES / "mooring_cleat.stl"
BOX = (box.vertices(), box.TRIANGLES)
# Coarse, so that it takes no second; the same for both sides.
CELL = "4mm"


def program(command, *words):
    """What the program writes as JSON, its exit status and what it complains of."""
    result = subprocess.run([PROGRAM, command, *map(str, words), "--json", "-"], capture_output=True, cwd=tempfile.gettempdir(), timeout=120)
    return result.stdout.decode(), result.returncode, result.stderr.decode().removeprefix("cavigram: ").strip()


def attended(function, *arguments, **options):
    """The plan, and the status that the program would end with."""
    try:
        return function(*arguments, **options), 0
    except cavigram.NeedsAttention as error:
        return error.plan, error.status


class SameAsProgram(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.box = pathlib.Path(folder.name) / "box.ply"
        box.write_ply(self.box)

    def check(self, plan, status, written):
        expected, code, complaint = written
        self.assertEqual(status, code, complaint)
        self.assertEqual(plan.to_json(), expected)
        self.assertEqual(plan.as_dict(), json.loads(expected))

    def test_samples(self):
        attention = 0
        for name in ("figurehead_scan.obj", "hand_lantern.glb", "mooring_cleat.stl", "rope_coil_inches.stl", "ships_bell.ply"):
            with self.subTest(name):
                plan, status = attended(cavigram.weigh, SAMPLES / name, cell=CELL)
                self.check(plan, status, program("weigh", SAMPLES / name, "--cell", CELL))
                attention += status
        self.assertIn(attention, range(1, 5), "one sample at least is sound, and one needs attention")

    def test_every_function(self):
        commands = {"mend": "inspect", "measure": "thin", "weigh": "weigh", "vent": "vent", "orient": "orient", "bench": "bench", "split": "split",
                    "mold": "mold", "handle": "handle", "rise": "rise"}
        for name, command in commands.items():
            with self.subTest(name):
                plan, status = attended(getattr(cavigram, name), self.box, units="mm")
                self.check(plan, status, program(command, self.box, "--units", "mm"))

    def test_plan_text_and_files(self):
        given = {"density": "10lb/ft3", "up": (0, 0.5, 1), "vent": [(5, 5, 30), "75,45,30"], "copies": 3, "pigment": 0.02, "keep_scraps": True, "wrap": False}
        words = ["--density", "10lb/ft3", "--up", "0,0.5,1", "--vent", "5,5,30", "--vent", "75,45,30", "--copies", "3", "--pigment", "0.02", "--keep-scraps"]
        with tempfile.TemporaryDirectory() as folder:
            theirs, ours = pathlib.Path(folder) / "theirs", pathlib.Path(folder) / "ours"
            printed = subprocess.run([PROGRAM, "plan", self.box, "--units", "mm", *words, "--out", theirs], capture_output=True, timeout=120, check=True)
            plan = cavigram.plan(self.box, units="mm", **given)
            paths = plan.write(ours)
            self.assertEqual(sorted(path.name for path in theirs.iterdir()), sorted(os.path.basename(path) for path in paths))
            for path in theirs.iterdir():
                self.assertEqual((ours / path.name).read_bytes(), path.read_bytes(), path.name)
            self.assertTrue(printed.stdout.decode().startswith(plan.text()))
            self.assertEqual(plan.to_json(), (theirs / "plan.json").read_text(encoding="utf-8"))
            with self.assertRaises(cavigram.NotWritten):
                plan.write(ours / "plan.json")
        with self.assertRaises(cavigram.BadOption):
            cavigram.mend(self.box).write("nowhere")

    def test_job(self):
        job = self.box.parent / "job.toml"
        job.write_text('part = "box.ply"\nunits = "mm"\ndensity = "9lb/ft3"\nquiet = true\nout = "elsewhere"\nmold-holds = "30kPa"\n', encoding="utf-8")
        plan = cavigram.weigh(job=job)
        self.check(plan, 0, program("weigh", "--job", job))
        self.assertEqual(plan, cavigram.weigh(self.box, units="mm", density="9lb/ft3", mold_holds="30kPa"))


class Meshes(unittest.TestCase):
    def test_arrays_as_the_file(self):
        read = cavigram.read(CLEAT)
        self.assertEqual((read.vertices.shape[1], read.triangles.shape), (3, (43828, 3)))
        for vertices, triangles in ((read.vertices, read.triangles), (read.vertices, read.triangles.astype(numpy.int64)),
                                    (numpy.asfortranarray(read.vertices), read.triangles.tolist())):
            plan = cavigram.mend((vertices, triangles), units="mm").as_dict()
            other = cavigram.mend(CLEAT, units="mm").as_dict()
            self.assertEqual((plan["input"].pop("file"), plan["input"].pop("format")), ("arrays", "arrays"))
            self.assertEqual((other["input"].pop("file"), other["input"].pop("format")), ("mooring_cleat.stl", "stl-binary"))
            self.assertEqual(plan, other)

    def test_kept_mesh_answers_as_a_fresh_one(self):
        mesh = cavigram.read(CLEAT)
        for options in ({"density": "9lb/ft3"}, {"density": "12lb/ft3", "copies": 2}):
            again, status = attended(cavigram.weigh, mesh, units="mm", cell=CELL, **options)
            fresh, other = attended(cavigram.weigh, CLEAT, units="mm", cell=CELL, **options)
            self.assertEqual((again.to_json(), status), (fresh.to_json(), other))

    def test_unit_of_the_arrays(self):
        # The inch is 25.4 mm (NIST SP 811, B.8); volume by the closed form of a box.
        measures = cavigram.mend(BOX, units="in", scale=0.5).measures
        self.assertAlmostEqual(measures.volume_mm3, numpy.prod(box.SIDES_MM) * 12.7**3, delta=1e-6 * measures.volume_mm3)
        self.assertEqual(cavigram.mend(BOX, units="mm").measures.volume_mm3, numpy.prod(box.SIDES_MM))

    def test_skin_distance(self):
        # Closed forms: within a box the nearest face, outside of it the rest of the way along each axis.
        part = cavigram.mend(BOX, units="mm").part
        sides = numpy.array(box.SIDES_MM)
        places = numpy.random.default_rng(18).uniform(-20, 100, (4000, 3))
        beyond = numpy.maximum(numpy.maximum(-places, places - sides), 0)
        within = numpy.minimum(places, sides - places).min(axis=1)
        expected = numpy.where((beyond == 0).all(axis=1), within, -numpy.linalg.norm(beyond, axis=1))
        self.assertGreater((expected > 0).sum(), 50)
        numpy.testing.assert_allclose(part.skin_distance_mm(places), expected, rtol=0, atol=1e-9)
        self.assertEqual(part.skin_distance_mm(numpy.empty((0, 3))).shape, (0,))

    def test_arrays_of_results(self):
        plan = cavigram.plan(BOX, units="mm")
        part = plan.part
        count = len(part.vertices)
        for values in (part.thickness_mm, part.density_kg_m3, part.arrival_s):
            self.assertEqual((values.shape, values.dtype, values.flags.writeable), ((count,), numpy.float64, False))
        self.assertEqual(part.triangle_thickness_mm.shape, (len(part.triangles),))
        # A body's volume by the divergence theorem: the sum of the tetrahedra on the origin.
        a, b, c = (part.vertices[part.triangles[:, corner]] for corner in range(3))
        self.assertAlmostEqual(numpy.einsum("ij,ij->", a, numpy.cross(b, c)) / 6, plan.measures.volume_mm3, delta=1e-6)
        self.assertGreaterEqual(part.density_kg_m3.min(), plan.foam.core_density_kg_m3 - 1e-9)
        with self.assertRaises(ValueError):
            part.vertices[0, 0] = 1.0
        kept = part.vertices
        del plan, part
        self.assertEqual(kept.max(), 80.0)  # the array keeps alive what it looks into
        weighed = cavigram.weigh(BOX, units="mm").part
        self.assertIsNone(weighed.thickness_mm)

    def test_what_is_no_number_is_left_out(self):
        vertices = numpy.vstack([BOX[0], [[numpy.nan, 0, 0]]])
        mesh = cavigram.read((vertices, numpy.vstack([BOX[1], [[0, 1, 8]]])), name="mine")
        self.assertEqual([finding.code for finding in mesh.findings], ["triangles_not_finite"])
        plan = cavigram.mend(mesh, units="mm")
        self.assertEqual((plan.input.file, plan.measures.volume_mm3), ("mine", 120000.0))
        self.assertIn("triangles_not_finite", [finding.code for finding in plan.findings])


class Refusals(unittest.TestCase):
    def test_the_programs_sentences(self):
        cases = [(cavigram.BadOption, "weigh", CLEAT, {"density": "10"}), (cavigram.BadOption, "weigh", CLEAT, {"density": "banana"}),
                 (cavigram.BadOption, "weigh", CLEAT, {"copies": 0}), (cavigram.BadOption, "weigh", CLEAT, {"mold-holds": "3mm"}),
                 (cavigram.BadOption, "weigh", CLEAT, {"altitude": "100m", "air-pressure": "90kPa"}), (cavigram.BadOption, "vent", CLEAT, {"up": "0,0,0"}),
                 (cavigram.BadOption, "vent", CLEAT, {"vent": "12,0"}), (cavigram.BadFile, "weigh", "nofile.stl", {}),
                 (cavigram.BadFile, "weigh", SAMPLES / "README.md", {}), (cavigram.BadFile, "weigh", CLEAT, {"foam": "none.toml"}),
                 (cavigram.BadFile, "weigh", CLEAT, {"job": "none.toml"}), (cavigram.BadOption, "weigh", CLEAT, {"mend": "odd"})]
        for kind, command, part, options in cases:
            with self.subTest(options), self.assertRaises(kind) as caught:
                getattr(cavigram, command)(part, **{name.replace("-", "_"): value for name, value in options.items()})
            _, status, sentence = program(command, part, *(word for name, value in options.items() for word in (f"--{name}", value)))
            renamed = re.sub(r"--([a-z][a-z-]*[a-z])", lambda found: found.group(1).replace("-", "_"), sentence)
            self.assertEqual((str(caught.exception), caught.exception.status), (" ".join(renamed.split()), status))

    def test_attention_keeps_the_plan(self):
        with self.assertRaises(cavigram.NeedsAttention) as caught:
            cavigram.weigh(SAMPLES / "rope_coil_inches.stl", cell=CELL)  # read in millimeters: far too small for the scale
        error = caught.exception
        stops = [finding.text for finding in error.plan.findings if finding.severity == "stop"]
        self.assertEqual((str(error), error.status), (" ".join(stops).replace("--cell", "cell"), 1))
        self.assertIsInstance(error.plan.batch.part_a_g, float)

    def test_wrong_calls(self):
        for kind, call in ((TypeError, lambda: cavigram.weigh(BOX, densty="9lb/ft3")), (TypeError, lambda: cavigram.weigh(BOX, json="out.json")),
                           (TypeError, lambda: cavigram.weigh(42)), (TypeError, lambda: cavigram.weigh(BOX, partial="yes")),
                           (TypeError, lambda: cavigram.vent(BOX, up=object())), (cavigram.BadOption, lambda: cavigram.weigh((BOX[0][:, :2], BOX[1]))),
                           (cavigram.BadOption, lambda: cavigram.weigh((BOX[0], BOX[1].astype(float)))), (cavigram.BadOption, lambda: cavigram.weigh()),
                           (cavigram.BadFile, lambda: cavigram.weigh((BOX[0], BOX[1] + 1))), (cavigram.BadFile, lambda: cavigram.read((BOX[0], BOX[1] + 2**40))),
                           (cavigram.BadFile, lambda: cavigram.read((BOX[0], numpy.empty((0, 3), int)))), (TypeError, lambda: cavigram.read(None))):
            with self.assertRaises(kind):
                call()
        with self.assertRaisesRegex(TypeError, "did you mean density"):
            cavigram.weigh(BOX, densty="9lb/ft3")

    def test_results_are_read_only(self):
        plan = cavigram.mend(BOX, units="mm")
        for change in (lambda: setattr(plan.measures, "volume_mm3", 1.0), lambda: setattr(plan, "measures", None), lambda: delattr(plan, "measures")):
            with self.assertRaises(AttributeError):
                change()
        with self.assertRaisesRegex(AttributeError, "did you mean volume_mm3"):
            plan.measures.volum_mm3
        self.assertIsNone(plan.foam)
        self.assertEqual(pickle.loads(pickle.dumps(plan.measures)), plan.measures)

    def test_a_machine_without_more_threads(self):
        code = f"""import sys, resource; sys.path.insert(0, {str(FOLDER)!r})
import cavigram
resource.setrlimit(resource.RLIMIT_AS, (2**20, 2**20))
try:
    cavigram.mend({str(CLEAT)!r}, units="mm")
except cavigram.NotEnoughMemory as error:
    print(error.status, isinstance(error, MemoryError))"""
        result = subprocess.run(["/usr/bin/python3", "-B", "-c", code], capture_output=True, timeout=60)
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, b"3 True\n", b""))

    def test_names_that_are_not_utf_8(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(os.fsdecode(os.fsencode(folder) + b"/b\xff.ply"))
            with self.assertRaisesRegex(cavigram.BadFile, "no such file"):
                cavigram.read(path)
            box.write_ply(path)
            self.assertEqual(cavigram.read(path).name, str(path))
            self.assertEqual(cavigram.mend(path, units="mm").measures.volume_mm3, 120000.0)


class Stopping(unittest.TestCase):
    """Each is stopped once the plan's own work has begun, so that there is something to stop."""

    def test_by_the_listener(self):
        stages = []

        def listener(stage, share):
            self.assertTrue(0.0 <= share <= 1.0)
            stages.append(stage)

        with self.assertRaises(cavigram.Stopped) as caught:
            cavigram.plan(CLEAT, units="mm", progress=listener, stop=lambda: "thickness" in stages)
        self.assertEqual(caught.exception.status, 130)
        self.assertIn("mending", stages)

    def test_what_the_listener_raises_comes_through(self):
        def listener(stage, share):
            raise LookupError(stage)

        with self.assertRaises(LookupError):
            cavigram.plan(CLEAT, units="mm", progress=listener)

    def test_by_an_event_and_the_mesh_stays_good(self):
        mesh = cavigram.read(BOX)
        event = threading.Event()
        event.set()
        with self.assertRaises(cavigram.Stopped):
            cavigram.plan(mesh, units="mm", stop=event)
        self.assertEqual(cavigram.vent(mesh, units="mm", stop=threading.Event()).to_json(), cavigram.vent(cavigram.read(BOX), units="mm").to_json())

    def test_by_ctrl_c(self):
        at, timers = [], []

        def listener(stage, share):
            if not timers and stage == "thickness":
                timers.append(threading.Timer(0.05, interrupt))
                timers[0].start()

        def interrupt():
            at.append(time.monotonic())
            os.kill(os.getpid(), signal.SIGINT)

        with self.assertRaises(KeyboardInterrupt):
            cavigram.plan(CLEAT, units="mm", progress=listener)
        print(f"Ctrl-C came through after {time.monotonic() - at[0]:.3f} s")

    def test_the_process_ends_soundly_while_work_is_left(self):
        code = f"""import sys; sys.path.insert(0, {str(FOLDER)!r})
import cavigram
seen = []
try:
    cavigram.plan({str(CLEAT)!r}, units="mm", progress=lambda stage, share: seen.append(stage), stop=lambda: "depth" in seen)
except cavigram.Stopped as error:
    print(error)"""
        result = subprocess.run(["/usr/bin/python3", "-B", "-c", code], capture_output=True, timeout=60)
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, b"Stopped as asked; nothing was written.\n", b""))


class Threads(unittest.TestCase):
    def test_two_side_by_side_and_the_interpreter_free(self):
        alone = cavigram.orient(BOX, units="mm").to_json()
        mesh = cavigram.read(BOX)
        answers, turns = [], []

        def work(part):
            answers.append(cavigram.orient(part, units="mm").to_json())

        threads = [threading.Thread(target=work, args=(part,)) for part in (BOX, BOX, mesh, mesh)]
        for thread in threads:
            thread.start()
        while any(thread.is_alive() for thread in threads):
            turns.append(len(answers))
            time.sleep(0.001)
        self.assertEqual(len(answers), 4)
        self.assertGreater(turns.count(0), 3)  # this thread ran while none of them had an answer
        # Of arrays and of a mesh that was read from them: nothing depends on who else computes.
        self.assertEqual(set(answers), {alone})

    def test_number_of_threads_changes_nothing(self):
        self.assertEqual(cavigram.vent(BOX, units="mm", threads=1).to_json(), cavigram.vent(BOX, units="mm", threads=2).to_json())


class Memory(unittest.TestCase):
    def test_flat(self):
        def pages():
            return int(pathlib.Path("/proc/self/statm").read_text(encoding="ascii").split()[1])

        for _ in range(10):
            cavigram.mend(CLEAT, units="mm")
        before = pages()
        for _ in range(30):
            cavigram.mend(CLEAT, units="mm")
        # One more mesh of 43,828 triangles kept each time would be 30 times 3 MB, 23,000 pages.
        self.assertLess(pages() - before, 4000)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[4:]], verbosity=1)
