// SPDX-License-Identifier: GPL-3.0-or-later
// Unions against an independent library: manifold-3d 3.5.4 (npm, fetched by tools/dev/fetch_models.sh).
//
// Solids that cross are made by manifold-3d, written into one STL as they stand, and mended by the program; volume and
// area must be those of manifold-3d's own union. Boxes lie off each other's planes, as it moves flush ones by a little.
//
//   node union_test.mjs PROGRAM DATA_FOLDER
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [program, data] = process.argv.slice(2);
const library = resolve(data, "manifold-3d", "manifold.js");
if (!existsSync(library)) {
  console.log("manifold-3d is not there; run tools/dev/fetch_models.sh");
  process.exit(1);
}
const { default: load } = await import(pathToFileURL(library).href);
const module = await load();
module.setup();
const { Manifold } = module;

// A generator of our own, so that the solids are the same everywhere (Park & Miller 1988).
let state = 20240817;
const unit = () => {
  state = (state * 48271) % 2147483647;
  return state / 2147483647;
};
const between = (low, high) => low + (high - low) * unit();

function primitive() {
  const kind = Math.floor(4 * unit());
  if (kind === 0) return Manifold.sphere(between(6, 20), 32);
  if (kind === 1) return Manifold.cylinder(between(20, 60), between(4, 12), between(2, 12), 28, true);
  if (kind === 2) return Manifold.cube([between(6, 40), between(6, 40), between(6, 40)], true);
  return Manifold.revolve([[[between(14, 20), -3], [between(21, 28), 0], [between(14, 20), 4]]], 36);
}

function scene(count) {
  const solids = [Manifold.cube([50, 45, 40], true)];
  while (solids.length < count) {
    solids.push(primitive().rotate(between(0, 360), between(0, 360), between(0, 360))
      .translate(between(-28, 28), between(-28, 28), between(-28, 28)));
  }
  return solids;
}

// As text STL with all digits.
function stl(solids) {
  const lines = ["solid union"];
  for (const solid of solids) {
    const mesh = solid.getMesh();
    const corner = (v) => [0, 1, 2].map((i) => mesh.vertProperties[v * mesh.numProp + i]).join(" ");
    for (let t = 0; t < mesh.triVerts.length; t += 3) {
      lines.push("facet normal 0 0 0", "outer loop");
      for (let i = 0; i < 3; ++i) lines.push("vertex " + corner(mesh.triVerts[t + i]));
      lines.push("endloop", "endfacet");
    }
  }
  lines.push("endsolid union");
  return lines.join("\n") + "\n";
}

// The mesh that is handed out has single precision; the union is made of that one, too.
const asHandedOut = (solid) => Manifold.ofMesh(solid.getMesh());

const folder = mkdtempSync(join(tmpdir(), "cavigram_union_"));
let faults = 0;
let widest = 0;
for (const count of [2, 3, 5, 8, 12, 20, 30, 40]) {
  const solids = scene(count).map(asHandedOut);
  const union = Manifold.union(solids);
  const file = join(folder, "union.stl");
  writeFileSync(file, stl(solids));
  // Crumbs are kept: small hollows between the solids count for the area.
  const out = execFileSync(program, ["inspect", file, "--units", "mm", "--keep-scraps", "--json", "-", "--out", join(folder, "out")],
    { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
  const plan = JSON.parse(out);
  rmSync(join(folder, "out"), { recursive: true, force: true });
  // Both are made of the same corners, in single precision; new corners are rounded to double, and manifold-3d may move them a little more.
  const compare = (what, mine, theirs, share) => {
    const off = Math.abs(mine / theirs - 1);
    widest = Math.max(widest, off);
    if (!(off <= share)) {
      console.log(`FAULT ${count} solids: ${what} ${mine}, manifold-3d ${theirs}`);
      ++faults;
    }
  };
  compare("volume", plan.measures.volume_mm3, union.volume(), 1e-8);
  compare("area", plan.measures.area_mm2, union.surfaceArea(), 1e-8);
  const left = plan.repair.crossings ?? 0;
  if (left !== 0 || plan.measures.volume_high_mm3 - plan.measures.volume_low_mm3 > 1e-3 * plan.measures.volume_mm3) {
    console.log(`FAULT ${count} solids: ${left} crossings, range ${plan.measures.volume_low_mm3} to ${plan.measures.volume_high_mm3}`);
    ++faults;
  }
}
rmSync(folder, { recursive: true });
console.log(`8 unions, the widest difference ${widest.toExponential(1)}, ${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
