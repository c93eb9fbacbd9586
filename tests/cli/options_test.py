#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The commands with the options of the program's own table (see LONG): each changes what comes out, or is refused in one sentence.

Usage: options_test.py PROGRAM PROJECT_FOLDER
"""
import json
import os
import pathlib
import shutil
import sys
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import binary_stl, box, check_refusal, run, tree  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PROJECT = pathlib.Path(sys.argv[2]).resolve()
TABLE = json.loads(run(PROGRAM, "--list-options", "json").stdout)
OPTIONS = [row for row in TABLE["options"] if not row["positional"]]

# What a command is called with, apart from the option that is looked at.
CALLS = {
    # A coarse rise is followed as any other, and 200 of them take their time.
    "plan": ["part.stl", "--out", "out", "--json", "out.json", "--cells", "1000"],
    "rise": ["part.stl", "--json", "out.json", "--cells", "1000"],
    "orient": ["part.stl", "--json", "out.json"],
    # A short one may be light, whatever size is asked for.
    "tally add": ["part.stl", "--db", "small.db", "--part-mass", "17.6g", "--verdict", "short"],
    "tally list": ["--db", "small.db"],
    "tally correct": ["2", "--db", "small.db", "--verdict", "short"],
    "tally remove": ["2", "--db", "small.db"],
    "tally undo": ["--db", "small.db"],
    "tally fit": ["--db", "shop.db"],
    "tally export": ["--db", "small.db"],
    "foams": ["list"],
    "schema": [],
    "serve": [],
}
PLAIN = ["part.stl", "--json", "out.json"]

# Where an option shows only in company, or on another part: words that stand in both calls. Vents of parts four times as large are
# wider than the narrowest drill; a vented pour hole of another width changes grams, a plugged one places too. Grams follow a rod.
SCENES = {
    "basis": ["--density", "9lb/ft3"],
    "temperature": ["--scale", "4"],
    "mold-wall": ["--scale", "4"],
    "pour-hole-width": ["--pour-hole-after", "plugged"],
    "pour-hole": ["--method", "open_half_and_turn"],
    "db": ["--from-tally"],
    "grip": ["--armature", "steel:3mm"],
    "rod-cover": ["--armature", "steel:3mm"],
    "free-rise-mass": ["--free-rise-volume", "62ml"],
    "free-rise-volume": ["--free-rise-mass", "8g"],
    "stayed": ["--cup", "60g"],
    "jacket": ["--kind", "brushed"],
    "jacket-of": ["--kind", "brushed"],
    "plaster-water": ["--kind", "brushed"],
    "part-mass": ["--cup", "60g"],
}
# Where an option would be refused, or shows nothing, with what the others of its command are called with.
CALLS_FOR = {
    ("plan", "table"): ["part.stl", "--out", "out", "--cells", "1000"],  # many plans are no one JSON file
    ("tally add", "yes"): ["part.stl", "--db", "small.db", "--part-mass", "60g"],  # packed to more than 2
    ("tally correct", "yes"): ["2", "--db", "small.db", "--part-mass", "34g", "--cup", "40g"],
}
PARTS = {"partial": "cut.stl", "largest-hole": "open.stl", "mend": "open.stl", "hollow": "hollow.stl", "keep-scraps": "scraps.stl"}
# With it alone, since without it the first would be refused.
ALONG = {"from-tally": ["--db", "shop.db"]}
REFUSES_THE_PART = {"largest-hole", "mend"}  # exit status 3 is what they are for
# Most of the time goes into these: an option of several of them is tried with one, in turn; with all where CAVIGRAM_TEST_WHOLE is set.
LONG = ("split", "mold", "handle", "orient", "rise", "plan")
SAME_BYTES = {"threads"}  # promised by commands_test and mold_commands_test; that it is read shows in what it refuses


def grid(xs, ys, zs, filled):
    """The surface of a body of boxes, looking outward: filled(i, j, k) tells which cells of the grid belong to it."""
    lines = (xs, ys, zs)
    cells = {(i, j, k) for i in range(len(xs) - 1) for j in range(len(ys) - 1) for k in range(len(zs) - 1) if filled(i, j, k)}
    triangles = []
    for cell in cells:
        for axis in range(3):
            for side in (0, 1):
                beyond = list(cell)
                beyond[axis] += 2 * side - 1
                if tuple(beyond) in cells:
                    continue
                corners = []
                for u, v in ((0, 0), (1, 0), (1, 1), (0, 1)):
                    at = list(cell)
                    at[axis] += side
                    at[(axis + 1) % 3] += u
                    at[(axis + 2) % 3] += v
                    corners.append(tuple(float(lines[d][at[d]]) for d in range(3)))
                if side == 0:
                    corners.reverse()
                triangles += [(corners[0], corners[1], corners[2]), (corners[0], corners[2], corners[3])]
    return triangles


def humps():
    """A slab with a high hump, a low one, a thin fin, a higher one, and a lump on a bar of 2.5 mm."""
    xs = (0, 30, 40, 42, 60, 62, 70, 100, 110, 130)
    tops = {0: 4, 1: 1, 2: 2, 3: 1, 4: 3, 5: 1, 6: 2}  # columns of the slab and how many layers they have
    def filled(i, j, k):
        return 0 <= k < tops.get(i, 0) or (i == 7 and j == 1 and k in (0, 1)) or (i == 8 and 0 <= k < 3)
    return grid(xs, (0, 14, 16.5, 30), (0, 20, 35, 42, 50), filled)


def write_parts(base):
    (base / "part.stl").write_bytes(binary_stl(humps()))
    (base / "other.stl").write_bytes(binary_stl(box(30.0)))
    (base / "open.stl").write_bytes(binary_stl(box(80.0)[:-2]))
    (base / "cut.stl").write_bytes(binary_stl(box(80.0))[:-50])  # its last triangle did not arrive
    inner = [tuple(reversed(t)) for t in box(20.0, 30.0)]
    (base / "hollow.stl").write_bytes(binary_stl(box(80.0) + inner))
    (base / "scraps.stl").write_bytes(binary_stl(box(80.0)[:-2] + box(0.5, 90.0)))
    (base / "job.toml").write_text('scale = 1.5\nmold = "oak"\n')
    castings = {"small.db": [("part.stl", "17.4g", "generic-firm", "oak"), ("part.stl", "17.8g", "generic-firm", "elm")],
                "shop.db": [("part.stl", "19.4g", "generic-firm", "oak"), ("part.stl", "19.9g", "generic-firm", "oak"),
                            ("other.stl", "4.5g", "generic-firm", "elm"), ("other.stl", "4.4g", "generic-firm", "elm"),
                            ("part.stl", "22g", "generic-soft", "elm"), ("part.stl", "22.5g", "generic-soft", "oak")]}
    for log, rows in castings.items():
        for part, mass, foam, mold in rows:
            added = run(PROGRAM, "tally", "add", part, "--db", log, "--part-mass", mass, "--cup", "34g", "--stayed", "1.5g", "--foam", foam,
                        "--mold", mold, "--yes", cwd=base)
            assert added.returncode == 0, added.stderr
    # So that there is a history.
    assert run(PROGRAM, "tally", "correct", "1", "--db", "small.db", "--note", "dry", cwd=base).returncode == 0


class Bench:
    """Runs calls in folders of their own, each once."""

    def __init__(self, base):
        self.base = base
        self.seen = {}

    def outcome(self, command, words):
        """Exit status, standard output and error, and all files that the call leaves."""
        with tempfile.TemporaryDirectory() as folder:
            for path in self.base.iterdir():
                shutil.copy(path, folder)
            result = run(PROGRAM, *command.split(), *words, cwd=folder)
            if command in ("tally add", "tally correct", "tally remove") and result.returncode == 0:
                log = words[words.index("--db") + 1]
                result.stdout += run(PROGRAM, "tally", "export", "--db", log, cwd=folder).stdout
            files = {os.path.relpath(p, folder): pathlib.Path(p).read_bytes() for p in tree(folder) if not p.endswith(".db")}
        return result, files

    def plain(self, command, words):
        key = (command, *words)
        if key not in self.seen:
            self.seen[key] = self.outcome(command, words)
        return self.seen[key]


def without(words, name):
    """The words less an option and its value."""
    if "--" + name not in words:
        return list(words)
    at = words.index("--" + name)
    return list(words[:at]) + list(words[at + 2:])


def pairs():
    """Commands with options: all that are refused, all that quick commands take, and of long commands one for each option."""
    for command in TABLE["commands"]:
        for number, row in enumerate(OPTIONS):
            long = [one for one in row["commands"] if one in LONG]
            if command not in long or os.environ.get("CAVIGRAM_TEST_WHOLE") or command == long[number % len(long)]:
                yield command, row


def faults_of(bench, command, row):
    name = row["name"]
    value = row["second"] or row["example"]
    words = list(CALLS_FOR.get((command, name), CALLS.get(command, PLAIN)))
    typed = ["--" + name] + ([] if row["flag"] else [value])
    if command not in row["commands"]:
        result, _ = bench.outcome(command, words + typed)
        faults = check_refusal(result, 2)
        return faults if f"--{name} is no option of {command}" in result.stderr else faults + [result.stderr]
    if command == "serve":
        return []  # it serves until it is stopped; serve.server holds its options
    if name in PARTS:
        words[0] = PARTS[name]
    if name == "db":
        usual = "shop.db" if "shop.db" in words else "small.db"
        typed[1] = "small.db" if usual == "shop.db" else "shop.db"
        words = without(words, name)
        scene = [] if command.startswith("tally") else SCENES[name]
        before = words + scene + ["--db", usual]
        after = words + scene + typed
    else:
        scene = [] if (command, name) == ("tally correct", "temperature") else SCENES.get(name, [])
        if name == "part-mass":
            words = without(words, name)
        before = words + scene
        after = without(words, name) + scene + typed + ALONG.get(name, [])
    was, files_before = bench.plain(command, before)
    now, files_after = bench.outcome(command, after)
    if now.returncode not in ((0, 1, 3) if name in REFUSES_THE_PART else (0, 1)):
        return [f"exit status {now.returncode}: {now.stderr}"]
    same = (was.returncode, was.stdout, was.stderr, files_before) == (now.returncode, now.stdout, now.stderr, files_after)
    if name in SAME_BYTES:
        refused = bench.outcome(command, words + ["--" + name, "300"])[0]
        return ([] if same else ["other bytes"]) + check_refusal(refused, 2)
    return ["it changes nothing"] if same else []


class EveryOption(unittest.TestCase):
    maxDiff = None

    def test_it_changes_what_comes_out_or_is_refused(self):
        with tempfile.TemporaryDirectory() as folder:
            base = pathlib.Path(folder)
            write_parts(base)
            bench = Bench(base)
            walk = list(pairs())
            with ThreadPoolExecutor(2) as pool:
                found = pool.map(lambda pair: faults_of(bench, *pair), walk)
                faults = [f"{command} --{row['name']}: {fault}" for (command, row), some in zip(walk, found) for fault in some]
        print(f"{len(walk)} pairs, {sum(command in row['commands'] for command, row in walk)} of {sum(len(row['commands']) for row in OPTIONS)} taken")
        self.assertEqual("\n".join(faults), "")

    def test_docs_are_those_of_the_program(self):
        """Made by `cavigram --list-options markdown > docs/options.md`."""
        self.assertEqual((PROJECT / "docs" / "options.md").read_text(), run(PROGRAM, "--list-options", "markdown").stdout)

    def test_help_shows_each_option_with_its_example(self):
        for command in TABLE["commands"]:
            shown = run(PROGRAM, *command.split(), "--help").stdout
            lines = [line.split() for line in shown.splitlines() if line.startswith("  --")]
            # Each once; what the command is about stands first (cli.manners).
            self.assertEqual(sorted(line[0][2:] for line in lines), sorted(row["name"] for row in OPTIONS if command in row["commands"]))
            for row in OPTIONS:
                if command in row["commands"] and not row["flag"]:
                    self.assertIn(f"  --{row['name']} {row['example']}", shown)

    def test_one_job_file_serves_all_commands(self):
        """A key of another command passes; what is its own counts; what is none is refused with the nearest."""
        with tempfile.TemporaryDirectory() as folder:
            base = pathlib.Path(folder)
            (base / "jobs").mkdir()
            (base / "jobs" / "part.stl").write_bytes(binary_stl(box(40.0)))
            job = base / "jobs" / "job.toml"
            job.write_text('part = "part.stl"\nunits = "mm"\ncopies = 3\nlimit = "50mm"\nweights = "height=1"\nstir = "20s"\n'
                           'verdict = "good"\npart-mass = "9g"\ndb = "log.db"\nquiet = false\nvent = ["20,20,40"]\n')
            for command in ("inspect", "thin", "weigh", "vent", "orient", "bench", "mold", "plan", "tally add"):
                result = run(PROGRAM, *command.split(), "--job", "jobs/job.toml", cwd=folder)
                self.assertEqual(result.returncode, 0, f"{command}: {result.stderr}")
            self.assertIn("3", run(PROGRAM, "weigh", "--job", "jobs/job.toml", cwd=folder).stdout)
            for text, words in {'densty = "9lb/ft3"\n': "did you mean density?", 'job = "x"\n': "job in", 'out-of = 3\n': "is no option",
                                'quiet = 3\n': "true or false", 'density = true\n': "text in quotes", 'units = ["mm", "in"]\n': "text in quotes"}.items():
                job.write_text('part = "part.stl"\n' + text)
                result = run(PROGRAM, "weigh", "--job", "jobs/job.toml", cwd=folder)
                self.assertEqual(check_refusal(result, 2), [])
                self.assertIn(words, result.stderr)

    def test_weigh_and_bench_give_the_grams_of_the_plan(self):
        """What settles the holes of the mold settles their foam, in each command that one job file serves."""
        with tempfile.TemporaryDirectory() as folder:
            (pathlib.Path(folder) / "box.stl").write_bytes(binary_stl(box(40.0)))
            for lines in ('method = "open_half_and_turn"\nmost-vents = 1\n', 'vent = ["10,20,40"]\ntemperature = "15C"\n', 'pour-hole-after = "none"\n',
                          'method = "brush_first"\npour-hole = "20,20,40"\nmold-wall = "40mm"\n'):
                (pathlib.Path(folder) / "job.toml").write_text('part = "box.stl"\nunits = "mm"\nscale-readability = "0.01g"\nup = "+z"\n' + lines)
                shown = {}
                for command in ("weigh", "bench", "mold", "plan"):
                    result = run(PROGRAM, command, "--job", "job.toml", "--json", "-", cwd=folder)
                    self.assertIn(result.returncode, (0, 1), result.stderr)
                    shown[command] = json.loads(result.stdout)["balance"]
                self.assertEqual(shown["weigh"], shown["plan"], lines)
                self.assertEqual(shown["bench"], shown["plan"], lines)
                self.assertEqual(shown["mold"], shown["plan"], lines)

    def test_lists_may_be_repeated(self):
        with tempfile.TemporaryDirectory() as folder:
            (pathlib.Path(folder) / "box.stl").write_bytes(binary_stl(box(40.0)))
            typed = run(PROGRAM, "vent", "box.stl", "--vent", "10,20,40", "--units", "mm", "--vent=30,20,40", "--json", "-", cwd=folder)
            self.assertEqual(typed.returncode, 0, typed.stderr)
            self.assertEqual(len(json.loads(typed.stdout)["air"]["vents"]), 2)

    def test_wrong_calls_say_what_to_do(self):
        for words, part in {("weigh", "x.stl", "--copies"): "needs a value, such as 6", ("weigh", "x.stl", "--mix", "1:2", "--mix", "1:3"): "more than once",
                            ("thin", "x.stl", "--copies", "0"): "of weigh, bench, mold, handle, rise and plan", ("weigh", "x.stl", "--copies=many"): "a whole number",
                            ("weigh", "x.stl", "--denisty", "1"): "did you mean --density?", ("weigh", "x.stl", "--db", "x.db"): "--from-tally"}.items():
            result = run(PROGRAM, *words)
            self.assertEqual(check_refusal(result, 2), [], words)
            self.assertIn(part, result.stderr)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
