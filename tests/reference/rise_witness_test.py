#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Foam that swells in an upright slot with a step, against FreeFem++ (freefem++), a general finite-element package.

Both solve div u = s, u = -(K/mu)(grad p + rho g), no flow at walls, p = 0 at the front, for the foam at rest in the slot of
rise_witness.cpp: FreeFem++ on triangles of 1 mm and finer that follow the walls, with quadratic elements; the stepper on cubes, in one step
so short that nothing moves. Held: pressure at three places and the front's speed, to 2 % on the finest cells, errors falling with the cell.

Usage: rise_witness_test.py RISE_WITNESS
"""
import pathlib
import subprocess
import sys
import tempfile

FLOW = """
real s = 0.05, mu = 10, K = 1e-4/12, rho = 1000, g = 9.80665;
int n = 1;  // edges of 1 mm
border b1(t=0,1){x=0.04*t; y=0; label=1;}
border b2(t=0,1){x=0.04; y=0.08*t; label=1;}
border b3(t=0,1){x=0.04-0.008*t; y=0.08; label=1;}
border b4(t=0,1){x=0.032; y=0.08+0.028*t; label=1;}
border b5(t=0,1){x=0.032-0.02*t; y=0.108; label=2;}
border b6(t=0,1){x=0.012; y=0.108-0.028*t; label=1;}
border b7(t=0,1){x=0.012-0.012*t; y=0.08; label=1;}
border b8(t=0,1){x=0; y=0.08-0.08*t; label=1;}
mesh Th = buildmesh(b1(40*n)+b2(80*n)+b3(8*n)+b4(28*n)+b5(20*n)+b6(28*n)+b7(12*n)+b8(80*n));
fespace Vh(Th, P2);
Vh p, q;
solve flow(p, q) = int2d(Th)(K/mu*(dx(p)*dx(q) + dy(p)*dy(q))) + int2d(Th)(K/mu*rho*g*dy(q)) - int2d(Th)(s*q) + on(2, p=0);
cout.precision(10);
cout << "RESULT " << p(0.02,0.004) << " " << p(0.004,0.076) << " " << p(0.02,0.08)
     << " " << -1e3*K/mu*(dy(p)(0.02,0.108-1e-9) + rho*g) << endl;
"""
WHAT = ("pressure near the floor, Pa", "in the shoulder", "at the step", "speed of the front, mm/s")
TOLERANCE = 0.02


def main():
    with tempfile.TemporaryDirectory() as folder:
        script = pathlib.Path(folder) / "flow.edp"
        script.write_text(FLOW)
        out = subprocess.run(["FreeFem++-nw", "-nw", "-v", "0", script], capture_output=True, text=True, check=True, timeout=300).stdout
    witness = [float(w) for w in next(line for line in out.splitlines() if line.startswith("RESULT")).split()[1:]]
    rows = [[float(w) for w in line.split()]
            for line in subprocess.run([sys.argv[1]], capture_output=True, text=True, check=True, timeout=300).stdout.splitlines()]
    failed = False
    for i, what in enumerate(WHAT):
        errors = [abs(row[1 + i] - witness[i]) / witness[i] for row in rows]
        print(f"{what}: {witness[i]:.4f}; cells of " + ", ".join(f"{row[0]:g} mm: {row[1 + i]:.4f}" for row in rows))
        # At least as good as with twice the cell, unless both are within a thousandth.
        failed |= errors[-1] > TOLERANCE or errors[-1] > max(1e-3, 0.7 * errors[0])
    return 1 if failed or len(rows) != 3 else 0


sys.exit(main())
