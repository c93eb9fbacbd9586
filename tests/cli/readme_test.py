#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs every `cavigram` line of the README and compares the worked example's output with what is printed there.

Usage: readme_test.py PROGRAM PROJECT_FOLDER
"""
import os
import pathlib
import re
import shlex
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import run  # noqa: E402


def main():
    program = os.path.abspath(sys.argv[1])
    project = pathlib.Path(sys.argv[2]).resolve()
    text = (project / "README.md").read_text(encoding="utf-8")
    faults = 0
    count = 0
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(project / "sample_meshes", os.path.join(folder, "sample_meshes"))
        for block in re.findall(r"```(?:sh|text)\n(.*?)```", text, re.S):
            lines = block.splitlines()
            for at, line in enumerate(lines):
                command = re.match(r"(?:\$ )?cavigram (.*)", line)
                if not command:
                    continue
                count += 1
                words = shlex.split(command.group(1), comments=True)
                if words[0] == "serve":
                    # It serves until it is stopped, as a person does by Ctrl-C; no browser is to be found.
                    stopped = ["--preserve-status", "--signal=INT", "2", program, *words]
                    result = run("/usr/bin/timeout", *stopped, cwd=folder, env={**os.environ, "PATH": folder})
                else:
                    result = run(program, *words, cwd=folder)
                if result.returncode != 0:
                    print(f"cavigram {command.group(1)}: {result.returncode} {result.stderr}")
                    faults += 1
                expected = "\n".join(lines[at + 1:]).strip() if line.startswith("$ ") else ""
                if expected and result.stdout.strip() != expected:
                    print(f"The README shows another output of: cavigram {command.group(1)}\n{result.stdout}")
                    faults += 1
    print(f"{count} commands, {faults} faults")
    return 1 if faults or count == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
