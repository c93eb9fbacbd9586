#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program promises of speed and safety, beside what was measured last, when, and at which commit: one table.

  claims.py                    the table of what was measured
  claims.py --quick [PART ...] measures first what takes minutes: the short form of these parts, or of all that have one
  claims.py --run [PART ...]   measures first, whole: these parts, or all (a night)

Parts: speed, suite, fuzz, sanitized, threads, coverage, faults, soak, reproducible, package. Each is a script of its own under tests, which leaves its figures by
  claims.py --record PART [--short] [--junit FILE ...] [NAME=VALUE | NAME=@FILE.json ...]
in build/claims/. Exit status: 0 all met, 1 something missed or never measured, 2 a call that can't be taken.
"""
import argparse
import json
import pathlib
import shutil
import statistics
import subprocess
import sys
import time
import xml.etree.ElementTree

ROOT = pathlib.Path(__file__).resolve().parent.parent
KEPT = ROOT / "build" / "claims"
PROGRAM = "build/tools/cavigram/cavigram"


def row(claim, aim, measured, value, wanted, at_least=False):
    """A line of the table. What is missed by a share of the aim says so; an aim of none can only be missed."""
    if value >= wanted if at_least else value <= wanted:
        return claim, aim, measured, "met"
    return claim, aim, measured, f"missed by {100.0 * abs(value / wanted - 1.0):.0f} %" if wanted else "missed"


def speed(got):
    for call in got["calls"]:
        runs = list(zip(*call["runs"]))  # clock, processors, peak memory
        for wanted, unit, values in ((call["aim_s"], "s", runs[0]), (call["aim_mb"], "MB", runs[2])):
            if wanted is not None:
                value = statistics.median(values)
                yield row(f"{call['command']}, {call['mesh']}", f"{wanted:g} {unit} at most", f"{value:.{2 if unit == 's' else 0}f} {unit}, median of {len(values)}", value, wanted)
        if got["vtk"] and call["command"] == "inspect":
            ratio = statistics.median(runs[0]) / statistics.median(run["clock_s"] for run in got["vtk"])
            yield row(f"inspect, {call['mesh']}", "no slower than a VTK process that reads and measures", f"{ratio:.2f} times as long", ratio, 1.0)
    for stage, maker, triangles, ratio in got.get("peers", []):
        yield f"{stage}, {triangles:,} triangles", f"beside {maker}", f"that takes {ratio:.2f} times as long", "told"
    if "compared" in got:
        yield row("speed: answers", "all agree with the triangles' sums and other libraries", f"{got['wrong']} of {got['compared']} differ", got["wrong"], 0)


def passed(what):
    def rows(got):
        yield row(what, "every test passes", f"{got['tests'] - got['failures'] - got['skipped']} of {got['tests']}" + (f", {got['skipped']} left out" if got["skipped"] else ""), got["failures"], 0)
    return rows


def fuzz(got):
    if "tests" in got:
        yield from passed("fuzzing, a fixed number of rounds")(got)
        return
    hours = got["seconds"] / 3600.0
    yield row("fuzzing", "2 hours at least in all", f"{hours:.2f} h in {got['runs']} runs, {got['targets']} targets, {got['executions']:,} executions", hours, 2.0, at_least=True)
    yield row("fuzzing: inputs that break a promise", "none", str(got["found"]), got["found"], 0)


def coverage(got):
    rooms = {room: 100.0 * by["lines_run"] / by["lines"] for room, by in got["rooms"].items()}
    lib = got["all"]
    lines = 100.0 * lib["lines_run"] / lib["lines"]
    below = ", ".join(f"{room} {share:.1f} %" for room, share in sorted(rooms.items(), key=lambda item: item[1]) if share < 90.0)
    yield row("lines of lib that unit tests run", "90 % at least", f"{lines:.1f} % of {lib['lines']:,}" + (f"; below: {below}" if below else ""), lines, 90.0, at_least=True)
    yield "branches of lib taken", "printed", f"{100.0 * lib['branches_run'] / lib['branches']:.1f} % of {lib['branches']:,}", "told"


def faults(got):
    yield row("faults: disks, kills, memory, signals, clock, two at once", "all hold", f"{got['hold']} of {got['rows']} kinds, {got['times']:,} trials, {got['skipped']} not tried",
              got["rows"] - got["hold"], 0)


def soak(got):
    for by in got["through"]:
        yield row(f"soak, {by['plans']:,} plans through {by['what']}: memory", f"grows by {by['most_mb']:.0f} MB at most", f"{by['growth_mb']:+.1f} MB", by["growth_mb"], by["most_mb"])
        yield row(f"soak, {by['plans']:,} plans through {by['what']}: left behind", "nothing", by["left"] or "nothing", bool(by["left"]), 0)


def reproducible(got):
    how = "objects from the compiler's cache" if got["cached"] else "everything compiled twice"
    yield row("two builds in two folders", "the same bytes", f"{got['same']} of {got['compared']} comparisons hold; {how}", got["compared"] - got["same"], 0)


def package(got):
    if "tests" in got:
        yield from passed("Debian package: made, judged by lintian, unpacked, run")(got)
    else:
        yield row("Debian package on a bare root", "installs, runs, purges, leaves nothing", f"{got['packages']} packages came with it; left: {got['left']}", got["left"], 0)


def only_test(part, name):
    report = KEPT / f"{part}_run.xml"
    return [["ctest", "--test-dir", "build", "-R", name, "--output-junit", report], [__file__, "--record", part, "--short", "--junit", report]]


def told(part, *words, short=False):
    """A program that writes its figures into a file when it is done, and the record of them."""
    return [["/usr/bin/python3", *words, KEPT / f"{part}_run.json"], [__file__, "--record", part, *(["--short"] if short else []), f"=@{KEPT / f'{part}_run.json'}"]]


# Part -> (its lines, its calls, its calls in short).
PARTS = {
    "speed": (speed, [["tests/benchmark/run.sh"]], [["/usr/bin/python3", "tests/benchmark/whole.py", PROGRAM, ".", KEPT, KEPT / "speed_run.json", "1", "60000"],
                                                    [__file__, "--record", "speed", "--short", f"=@{KEPT / 'speed_run.json'}"]]),
    "suite": (passed("the whole suite"), [["tests/run.sh"]], []),
    "fuzz": (fuzz, [["tests/fuzz/run.sh", "450"]], only_test("fuzz", "^fuzz.fuzz_test$")),
    "sanitized": (passed("under AddressSanitizer and UndefinedBehaviorSanitizer"), [["tests/run_sanitized.sh", "--all"]], []),
    "threads": (passed("under ThreadSanitizer"), [["tests/run_threads.sh"]], []),
    "coverage": (coverage, [["tests/coverage.sh"]], []),
    "faults": (faults, [["tests/faults/run.sh"]], told("faults", "tests/faults/faults.py", PROGRAM, "--quick", "--json", short=True)),
    "soak": (soak, told("soak", "tests/faults/soak.py", PROGRAM, "1000"), told("soak", "tests/faults/soak.py", PROGRAM, "20", short=True)),
    "reproducible": (reproducible, [["tests/package/reproducible.sh"]], []),
    "package": (package, [["sh", "-c", f"cpack --config build/CPackConfig.cmake -G DEB -B {KEPT}/package_run && tests/package/bare_root.sh {KEPT}/package_run/cavigram_*.deb"]],
                only_test("package", "^package.deb$")),
}


def git(*words):
    return subprocess.run(["git", "-C", ROOT, *words], capture_output=True, text=True, check=False).stdout.strip()


def record(part, short, figures):
    KEPT.mkdir(parents=True, exist_ok=True)
    figures = {"commit": git("describe", "--always", "--dirty", "--abbrev=8", "--exclude=*") or "unknown", "time": time.time(), **figures}
    (KEPT / f"{part}{'.short' if short else ''}.json").write_text(json.dumps(figures, indent=1) + "\n")


def figures_of(junit, words):
    """What one call of --record tells: what became of the tests in ctest's reports, and NAME=VALUE. A test that was run again counts as it ended last. A report that
    is not there is of tests that did not run: a failure."""
    ended = {}
    for path in junit:
        try:
            cases = {case.get("name"): case.get("status") for case in xml.etree.ElementTree.parse(path).getroot().iter("testcase")}
        except (OSError, xml.etree.ElementTree.ParseError):
            cases = {}
        ended.update(cases or {path: "fail"})
    statuses = list(ended.values())
    figures = {"tests": len(statuses), "failures": statuses.count("fail"), "skipped": sum(status not in ("run", "fail") for status in statuses)} if junit else {}
    for word in words:
        name, _, value = word.partition("=")
        value = json.loads(pathlib.Path(value[1:]).read_text() if value.startswith("@") else value)
        figures.update({name: value} if name else value)
    return figures


def measure(part, short):
    """Runs a part. One that ends badly before it has told anything leaves that, not what an earlier run told."""
    started, status = time.time(), 0
    KEPT.mkdir(parents=True, exist_ok=True)
    for left in KEPT.glob(f"{part}_run*"):  # of an earlier run: must not be taken for this one's
        shutil.rmtree(left) if left.is_dir() else left.unlink()
    for call in PARTS[part][2 if short else 1]:
        # What a program tells after it found something wrong is recorded, too.
        status = subprocess.run([str(word) for word in call], cwd=ROOT, check=False).returncode or status
    kept = KEPT / f"{part}{'.short' if short else ''}.json"
    if status and not (kept.exists() and json.loads(kept.read_text())["time"] >= started):
        record(part, short, {"ended": status})


def age(seconds):
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.0f} h" if seconds < 172800 else f"{seconds / 86400:.0f} days"


def table():
    """The lines: claim, aim, measured, verdict, when. A short run is told beside a whole one only where it is the newer."""
    for part, (rows, _, _) in PARTS.items():
        kept = [(name, json.loads((KEPT / name).read_text())) for name in (f"{part}.json", f"{part}.short.json") if (KEPT / name).exists()]
        if len(kept) == 2 and kept[0][1]["time"] > kept[1][1]["time"]:
            del kept[1]
        if not any(name == f"{part}.json" for name, _ in kept):
            yield part, "", f"tests/claims.py --run {part}", "not measured", ""
        for name, got in kept:
            since = git("rev-list", "--count", f"{got['commit'].removesuffix('-dirty')}..HEAD")
            when = f"{age(time.time() - got['time'])} ago, {got['commit']}" + (f", {since} commits back" if since not in ("", "0") else "")
            lines = [(part, "", f"the run ended with status {got['ended']}", "missed")] if "ended" in got else rows(got)
            for claim, aim, measured, verdict in lines:
                yield claim + (" (short run)" if "short" in name else ""), aim, measured, verdict, when


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for option in ("--run", "--quick"):
        parser.add_argument(option, nargs="*", choices=PARTS, metavar="PART")
    parser.add_argument("--record", choices=PARTS)
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--junit", action="append", default=[])
    parser.add_argument("figures", nargs="*", metavar="NAME=VALUE")
    asked = parser.parse_args()
    if asked.record:
        record(asked.record, asked.short, figures_of(asked.junit, asked.figures))
        return 0
    for part in PARTS if asked.run == [] else asked.run or []:
        measure(part, False)
    for part in [part for part in PARTS if PARTS[part][2]] if asked.quick == [] else asked.quick or []:
        measure(part, True)
    lines = list(table())
    print("\n".join(["| claim | aim | measured | verdict | when |", "|---|---|---|---|---|", *("| " + " | ".join(line) + " |" for line in lines)]))
    verdicts = [line[3].split()[0] for line in lines]
    print(f"\n{verdicts.count('met')} met, {verdicts.count('missed')} missed, {verdicts.count('not')} not measured.")
    return 0 if set(verdicts) <= {"met", "told"} else 1


if __name__ == "__main__":
    sys.exit(main())
