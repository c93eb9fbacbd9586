// SPDX-License-Identifier: GPL-3.0-or-later
// Told sentences as the page renders them against the library's own, over 200 seeded ones of every kind, in both systems.
//
//   node told_test.mjs RENDERER PAGE_FOLDER
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Faults, pageModule, run, seeded } from "./sheet.mjs";

const [renderer, pageFolder] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_told_"));
const faults = new Faults();
const { between, oneOf } = seeded(20261126);

const KINDS = ["length", "area", "volume", "mass", "density", "areal_density", "temperature", "pressure"];
const sentences = [];
for (let i = 0; i < 200; ++i) {
  const kind = KINDS[i % KINDS.length];
  const tellings = ["pair", "single", "number", "other_single", "other_number"];
  const telling = oneOf(kind === "length" ? [...tellings, "drill"] : tellings);
  const value = (kind === "temperature" && i % 3 === 0 ? -1 : 1) * 10 ** between(telling === "drill" ? -0.5 : -5, telling === "drill" ? 2 : 7);
  const place = [between(-300, 300), between(-1, 1), between(-0.04, 0.04)];
  sentences.push(["a ", { kind, value, digits: Math.floor(between(1, 6)), telling }, " at ", { at_mm: place }, " with ", { setting: "mold-holds" }, "."]);
}

try {
  const { rendered } = await pageModule(pageFolder, folder, "told");
  // A line for each sentence and system, of the same pieces.
  const result = run(renderer, [], { input: sentences.map((one) => `${JSON.stringify(one)}\n`).join("") });
  faults.check(result.status === 0, `the renderer fails: ${result.stderr}`);
  const theirs = result.stdout.trimEnd().split("\n");
  sentences.forEach((one, i) => ["metric", "us"].forEach((system, k) => {
    const ours = rendered(one, system);
    faults.check(ours === theirs[2 * i + k], `${JSON.stringify(one)} is "${ours}" in the page, "${theirs[2 * i + k]}" in the library`);
  }));
} finally {
  rmSync(folder, { recursive: true });
}
faults.end();
