#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The check of the layers must fail where it should."""
import pathlib
import subprocess
import sys
import tempfile

CHECK = pathlib.Path(__file__).parent / "check_layers.py"


def status(files):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = pathlib.Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text)
        return subprocess.run([sys.executable, CHECK, folder], capture_output=True, text=True)


GOOD = {"lib/cavigram/mesh/a.h": '#include <vector>\n#include "cavigram/geom/b.h"\nnamespace cavigram {\nstruct Far;\nstruct Near {\n};\n}\n',
        "lib/cavigram/mesh/b_detail.h": "namespace cavigram {\nstruct Far {\n};\n}\nnamespace cavigram {\nstruct Near;\n}\n",
        "tests/mesh/a_test.cpp": "",
        "docs/rooms/mesh.md": "## a\n"}
BAD = {
    "lies below": {"lib/cavigram/mesh/c.cpp": '#include "cavigram/repair/d.h"\n'},
    "does not belong in mesh": {"lib/cavigram/mesh/c.cpp": "#include <CGAL/number_utils.h>\n"},
    "third parties stay in .cpp": {"lib/cavigram/repair/c_detail.h": "#include <CGAL/number_utils.h>\n"},
    "unknown third party": {"lib/cavigram/mesh/c.cpp": "#include <elsewhere/any.hpp>\n"},
    "is no room": {"lib/cavigram/attic/c.cpp": ""},
    "is private to repair": {"lib/cavigram/measure/c.cpp": '#include "cavigram/repair/x_detail.h"\n'},
    "has no tests": {"lib/cavigram/mesh/c.h": "", "docs/rooms/mesh.md": "## a\n## c\n"},
    "no test holds the row": {"docs/rooms/io.md": "| a | held by |\n|---|---|\n| b | `x_test` \"is here\" |\n| c | `x_test` \"is not\" |\n",
                              "tests/io/x_test.cpp": 'TEST_CASE("is here") {'},
    "is a type of": {"lib/cavigram/mesh/x_detail.h": "namespace cavigram {\nstruct Place {\n};\n}\n",
                     "lib/cavigram/geom/y_detail.h": "namespace cavigram {\nstruct Place : Other {\n};\n}\n"},
    "has no section": {"lib/cavigram/mesh/c.h": "", "tests/mesh/c_test.cpp": ""},
}


def main():
    faults = 0
    if status(GOOD).returncode != 0:
        print("the good case is refused:", status(GOOD).stdout)
        faults += 1
    for words, extra in BAD.items():
        result = status({**GOOD, **extra})
        if result.returncode == 0 or words not in result.stdout:
            print(f"not noticed: {words}: {result.stdout}")
            faults += 1
    print(f"{len(BAD) + 1} cases, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
