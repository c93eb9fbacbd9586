#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The benchmarks start, on small meshes, and their answers hold; times are not looked at. By hand: run.sh.

Usage: stages_smoke.py STAGES_BENCH PROGRAM PROJECT_FOLDER
"""
import json
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent


def python(script, *arguments):
    return subprocess.run([sys.executable, HERE / script, *map(str, arguments)], stdout=subprocess.PIPE, text=True, check=False)


def main():
    bench, program, project = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        files = python("refined.py", project / "build/reference_data/libcgal-demo/data/meshes/elephant.off", work, 6_000).stdout.split()
        assert len(files) == 1, files
        subprocess.run([bench, *files, "--benchmark_repetitions=1", "--benchmark_min_time=0", "--benchmark_out_format=json",
                        f"--benchmark_out={work / 'stages.json'}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
        (work / "peers.json").write_text(python("scipy_bench.py", files[0], 1.5, 1.0).stdout)
        assert python("whole.py", program, project, work, work / "whole.json", 1, 0).returncode == 0
        told = python("performance.py", *(work / f for f in ("stages.json", "meshes.json", "whole.json", "peers.json", "performance.md", "told.json")))
        print(told.stdout)
        assert told.returncode == 0, told.stdout
        # A wrong answer is seen.
        stages = json.loads((work / "stages.json").read_text())
        changed = [run for run in stages["benchmarks"] if run["name"].startswith("volume and area/ours") and "answer_volume_mm3" in run]
        changed[0]["answer_volume_mm3"] *= 1.00001
        (work / "stages.json").write_text(json.dumps(stages))
        told = python("performance.py", *(work / f for f in ("stages.json", "meshes.json", "whole.json", "peers.json", "performance.md", "told.json")))
        assert told.returncode == 1 and "WRONG: volume and area by ours" in told.stdout


if __name__ == "__main__":
    main()
