#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs what docs/python.md and the README show of the Python module, as it is printed there (doctest), and the example, whose picture must show
something.

Usage: docs_test.py FOLDER_OF_THE_PACKAGE PROJECT_FOLDER
"""
import doctest
import os
import pathlib
import re
import subprocess
import sys
import tempfile

FOLDER, PROJECT = (pathlib.Path(os.path.abspath(word)) for word in sys.argv[1:3])
sys.path.insert(0, str(FOLDER))


def shown(path):
    """Faults of the page; its blocks are one session."""
    session = "\n\n".join(re.findall(r"```pycon\n(.*?)```", path.read_text(encoding="utf-8"), re.S))
    test = doctest.DocTestParser().get_doctest(session, {}, path.name, str(path), 0)
    if not test.examples:
        print(f"{path.name} shows nothing")
        return 1
    return doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test).failed


def picture(folder):
    """As one of the lines in docs/python.md runs it."""
    drawn = pathlib.Path(folder) / "skin.png"
    subprocess.run(["/usr/bin/python3", "-B", PROJECT / "tools/python/examples/skin_of_a_scan.py", "sample_meshes/ships_bell.ply", "mm", drawn],
                   env={**os.environ, "PYTHONPATH": str(FOLDER), "MPLCONFIGDIR": folder}, cwd=folder, check=True, timeout=120)
    from matplotlib import image

    pixels = image.imread(drawn)
    # A blank page, or a part that was not drawn, has a few colors; a shaded part has thousands.
    colors = len({tuple(pixel) for pixel in (pixels.reshape(-1, pixels.shape[2]) * 255).astype(int).tolist()})
    print(f"{drawn.name}: {pixels.shape[1]} x {pixels.shape[0]}, {colors} colors")
    return 0 if colors > 2000 else 1


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(PROJECT / "sample_meshes", os.path.join(folder, "sample_meshes"))
        os.chdir(folder)
        faults = shown(PROJECT / "docs" / "python.md") + shown(PROJECT / "README.md") + picture(folder)
        os.chdir("/")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
