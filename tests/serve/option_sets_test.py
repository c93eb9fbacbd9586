#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""For seeded sets of options the page's plan is the command line's, byte for byte, and so is each refusal.

Usage: option_sets_test.py PROGRAM NUMBER_OF_SETS
"""
import json
import os
import pathlib
import random
import shlex
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from runner import binary_stl, box, run  # noqa: E402
from server import Server  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
SETS = int(sys.argv[2])
# Other parts and logs: serve_test.py.
LEFT_OUT = {"also", "from-tally"}


def values_of(row, rng):
    if row["flag"]:
        return ["true"]
    texts = [*row["words"], row["example"], *([row["second"]] if row["second"] else [])]
    return [rng.choice(texts) for _ in range(rng.randint(1, 2) if row["list"] else 1)]


def main():
    rng = random.Random(17)
    table = json.loads(run(PROGRAM, "--list-options", "json").stdout)["options"]
    faults = planned = refused = 0
    with tempfile.TemporaryDirectory() as folder:
        base = pathlib.Path(folder)
        temp = base / "temp"
        temp.mkdir()
        server = Server(PROGRAM, temp).enter()
        settable = {row["name"] for row in server.json("GET", "/api/table")["options"]} - LEFT_OUT
        rows = [row for row in table if row["name"] in settable]
        # 65 mm: the examples' places and sizes lie within it.
        (base / "part.stl").write_bytes(binary_stl(box(65.0)))
        part = server.post("part.stl", (base / "part.stl").read_bytes())["id"]
        for number in range(SETS):
            chosen = {row["name"]: values_of(row, rng) for row in rng.sample(rows, rng.randint(1, 5))}
            before = server.json("GET", f"/api/parts/{part}")["options"]
            changes = {**{name: None for name in before}, **chosen}
            status, _, answer = server.ask("PUT", f"/api/parts/{part}/options", json.dumps(changes))
            words = []
            for name, texts in chosen.items():
                words += [f"--{name}"] if texts == ["true"] else [f"--{name}={text}" for text in texts]
            out = base / f"out{number}"
            typed = run(PROGRAM, "plan", "part.stl", *words, "--out", str(out), "--quiet", cwd=base)
            said = typed.stderr.removeprefix("cavigram: ").strip()
            if status == 422:
                refused += 1
                same = typed.returncode in (2, 3) and answer.decode().strip() == said
            else:
                state = server.settled(part, 600)
                if state["mode"] == "stopped":  # an unlikely size, which the command line only tells
                    server.json("POST", f"/api/parts/{part}/again")
                    state = server.settled(part, 600)
                if state["mode"] == "failed":
                    refused += 1
                    same = typed.returncode in (2, 3) and state["error"] == said
                else:
                    planned += 1
                    same = typed.returncode in (0, 1) and (out / "plan.json").read_bytes() == server.ask("GET", f"/api/parts/{part}/plan.json")[2]
                    line = server.ask("GET", f"/api/parts/{part}/command.txt")[2].decode()
                    again = run(PROGRAM, *shlex.split(line)[1:], "--out", str(out) + "b", "--quiet", cwd=base)
                    same = same and again.returncode == typed.returncode and (pathlib.Path(str(out) + "b") / "plan.json").read_bytes() == (out / "plan.json").read_bytes()
            if not same:
                faults += 1
                print(f"FAULT: {words}: page {status} {answer[:300]}, command line {typed.returncode} {said}")
        server.end()
    print(f"{SETS} sets: {planned} planned, {refused} refused, {faults} faults")
    return 1 if faults or planned < SETS // 2 else 0


if __name__ == "__main__":
    sys.exit(main())
