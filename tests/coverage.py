#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines and branches of lib that the runs of a coverage build went through, by room, from gcov's own JSON.

Usage: coverage.py BUILD_FOLDER [ROOM | --json FILE]      with a room: its files, and the lines that nothing ran

A line or branch counts once however many programs hold it (templates and inline functions stand in many). Branches are those that gcov
counts as the compiler made them, without those into which only an exception leads.
"""
import collections
import json
import pathlib
import subprocess
import sys


def counted(folder, root):
    """For each file of lib: times by line, and times by branch."""
    lines = collections.defaultdict(lambda: collections.defaultdict(int))
    branches = collections.defaultdict(lambda: collections.defaultdict(int))
    # Of the tests, too: of a template or an inline function that many objects hold, the linker keeps one, and that one counts. Of objects that nothing
    # ran, only those of lib are read: their lines are not run.
    notes = sorted({str(p.resolve()) for p in (folder / "lib").rglob("*.gcno")} | {str(p.resolve().with_suffix(".gcno")) for p in (folder / "tests").rglob("*.gcda")})
    for at in range(0, len(notes), 20):
        text = subprocess.run(["gcov", "--json-format", "--stdout", "--branch-probabilities", "--relative-only", f"--source-prefix={root}/", *notes[at:at + 20]],
                              capture_output=True, text=True, check=True, cwd=folder).stdout
        for record in text.splitlines():
            for file in json.loads(record)["files"]:
                path = (folder / file["file"]).resolve()
                if (root / "lib" / "cavigram") not in path.parents:
                    continue
                name = str(path.relative_to(root / "lib" / "cavigram"))
                for line in file["lines"]:
                    number = line["line_number"]
                    lines[name][number] += line["count"]
                    for i, branch in enumerate(b for b in line["branches"] if not b["throw"]):
                        branches[name][number, i] += branch["count"]
    return lines, branches


def share(counts):
    return 100.0 * sum(1 for c in counts if c > 0) / len(counts) if counts else 100.0


def main():
    folder = pathlib.Path(sys.argv[1]).resolve()
    root = pathlib.Path(__file__).resolve().parent.parent
    lines, branches = counted(folder, root)
    if not lines:
        sys.exit(f"coverage.py: {folder} holds nothing that was built with coverage; tests/coverage.sh builds it.")
    if len(sys.argv) == 3:
        for name in sorted(n for n in lines if n.startswith(sys.argv[2] + "/")):
            missed = sorted(n for n, c in lines[name].items() if c == 0)
            print(f"{name:<44}{share(list(lines[name].values())):7.1f} %  not run: {' '.join(map(str, missed))}")
        return
    print(f"{'room':<12}{'lines':>8}{'run':>9}{'branches':>10}{'taken':>9}")
    rooms = sorted({name.split('/')[0] for name in lines})
    told = {}
    for room in rooms + [""]:
        some = [c for name, by in lines.items() if name.startswith(room) for c in by.values()]
        ways = [c for name, by in branches.items() if name.startswith(room) for c in by.values()]
        print(f"{room or 'all':<12}{len(some):>8}{share(some):>7.1f} %{len(ways):>10}{share(ways):>7.1f} %")
        told[room] = {"lines": len(some), "lines_run": sum(c > 0 for c in some), "branches": len(ways), "branches_run": sum(c > 0 for c in ways)}
    if len(sys.argv) > 3:
        pathlib.Path(sys.argv[3]).write_text(json.dumps({"all": told.pop(""), "rooms": told}) + "\n")


main()
