#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The check of the check values must fail where it should, and must read the forms in which they are cited."""
import pathlib
import subprocess
import sys
import tempfile

CHECK = pathlib.Path(__file__).parent / "check_values.py"


def run(files):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = pathlib.Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return subprocess.run([sys.executable, CHECK, folder], capture_output=True, text=True)


def row(name, tests="`foam/a_test.cpp`", source="derived"):
    return f"| {name} | what | 1 | exact | {source} | {tests} |\n"


HEAD = "# Checks\n## 2. Skin\n| id | what | value | tolerance | source | held by |\n|---|---|---|---|---|---|\n"
GOOD = {"docs/checks.md": HEAD + row("S1") + row("S2") + row("G-1") + row("G-2") + row("G-3") + row("FM1")
                          + "## Waiting for their rooms\n- F1 to F3, rise\n",
        # Every form of citation; ids elsewhere count for nothing.
        "tests/foam/a_test.cpp": 'TEST_CASE("S1, S2: the box, in "\n          "words") {\n    CHECK(1);  // FM1\n    open("A4"); // see B2\n}\n'
                                 "// as docs/checks.md G-1 to\n// G-3 say, to 1e-8; version 2.S4; a cone R30\n",
        "lib/cavigram/foam/a.h": "/// The skin, S9 in other words.\nint a;  // (checks.md S1)\n/// checks.md 2,\n/// S2. \\pre none\n"}


def test_of(text):
    return {"tests/foam/a_test.cpp": GOOD["tests/foam/a_test.cpp"] + text}


BAD = {
    "lib/cavigram/foam/b.h: cites S8": {"lib/cavigram/foam/b.h": "/// Mean density (checks.md S1, S8).\n"},
    "lib/cavigram/foam/b.cpp: cites S7": {"lib/cavigram/foam/b.cpp": "/// As in checks.md, and by\n/// S7 too.\n"},
    "cites FM2": {"lib/cavigram/foam/b.h": "// foam_model.md FM2\n"},
    "a_test.cpp: cites E7": test_of('TEST_CASE("E7: straps") {}\n'),
    "a_test.cpp: cites V2": test_of("    // V2\n"),
    "b_test.py: cites E18": {"tests/cli/b_test.py": 'def test():\n    """E18: 30 s at 23 C."""\n'},
    "cites Q2": test_of("// docs/checks.md Q1 to Q3\n"),
    "cites F2, which docs/checks.md does not list, where it still waits": test_of("// F2\n"),
    "S3 is not cited by tests/foam/a_test.cpp": {"docs/checks.md": HEAD + row("S3") + GOOD["docs/checks.md"]},
    "S3 is held by tests/foam/c_test.cpp, which does not exist":
        {"docs/checks.md": HEAD + row("S3", "`foam/c_test.cpp`") + GOOD["docs/checks.md"]},
    "S3 names no test": {"docs/checks.md": HEAD + row("S3", "none yet") + GOOD["docs/checks.md"]},
    "S1 is not cited by tests/foam/d_test.cpp":
        {"docs/checks.md": GOOD["docs/checks.md"].replace(row("S1"), row("S1", "`foam/a_test.cpp`, `foam/d_test.cpp`")),
         "tests/foam/d_test.cpp": "// of S1, but not as a check: x S1\nint s = 1;\n"},
    "S1 is listed twice": {"docs/checks.md": HEAD + row("S1") + GOOD["docs/checks.md"]},
    "the source of S1 says none of": {"docs/checks.md": GOOD["docs/checks.md"].replace(row("S1"), row("S1", source="somewhere"))},
    "S1 needs id, what": {"docs/checks.md": GOOD["docs/checks.md"].replace(row("S1"), "| S1 | what | 1 |\n")},
    "S2 is listed and waiting": {"docs/checks.md": GOOD["docs/checks.md"] + "- S2\n"},
    "0 checks": {"docs/checks.md": "nothing\n"},
}


def main():
    faults = 0
    good = run(GOOD)
    if good.returncode != 0 or "6 checks" not in good.stdout:
        print("the good case is refused:", good.stdout, good.stderr)
        faults += 1
    for words, extra in BAD.items():
        result = run({**GOOD, **extra})
        if result.returncode == 0 or words not in result.stdout:
            print(f"not noticed: {words}: {result.stdout}{result.stderr}")
            faults += 1
    print(f"{len(BAD) + 1} cases, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
