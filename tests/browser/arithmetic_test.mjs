// SPDX-License-Identifier: GPL-3.0-or-later
// The page's arithmetic against the program's, over 500 seeded cases: what a person would get by
// turning knobs in the page, and by running the program again with the same figures.
//
//   node arithmetic_test.mjs PROGRAM PAGE_FOLDER
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { Faults, planned, run, sheetData } from "./sheet.mjs";

const CASES = 500;
const [program, pageFolder] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_arithmetic_"));
const faults = new Faults();

// mulberry32: small, and the same on every machine.
let state = 20261125;
function random() {
  state = (state + 0x6d2b79f5) | 0;
  let t = Math.imul(state ^ (state >>> 15), 1 | state);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
}
const between = (low, high) => low + (high - low) * random();
const oneOf = (list) => list[Math.floor(random() * list.length)];

function boxOff(a, b, c) {
  const v = [];
  for (const z of [0, c]) for (const y of [0, b]) for (const x of [0, a]) v.push(`${x} ${y} ${z}`);
  const f = ["0 2 1", "1 2 3", "4 5 6", "5 7 6", "0 1 4", "1 5 4", "2 6 3", "3 6 7", "0 4 2", "2 4 6", "1 3 5", "3 7 5"];
  return `OFF\n8 12 0\n${v.join("\n")}\n${f.map((t) => `3 ${t}`).join("\n")}\n`;
}

async function pageArithmetic() {
  const { build } = await import(pathToFileURL(createRequire(join(pageFolder, "x.js")).resolve("esbuild")).href);
  const out = join(folder, "arithmetic.mjs");
  await build({ entryPoints: [join(pageFolder, "src/arithmetic.ts")], bundle: true, format: "esm", outfile: out, logLevel: "error" });
  return import(pathToFileURL(out).href);
}

const near = (p, q) => Math.abs(p - q) <= 1e-9 * Math.max(Math.abs(p), Math.abs(q), 1e-9);

function compare(name, pairs) {
  for (const [what, ours, theirs] of pairs) {
    faults.check(typeof ours === "string" ? ours === theirs : near(ours, theirs), `${name}: ${what} is ${ours} in the page, ${theirs} in the program`);
  }
}

function check(page, live, setup, i) {
  const choice = {
    density_kg_m3: random() < 0.15 ? null : between(60, 420),
    waste_share: oneOf([0, 0.05, 0.1, between(0, 0.5), between(0, 0.95)]),
    copies: 1 + Math.floor(between(0, 12)),
    scale_readability_g: oneOf([5, 1, 1, 0.5, 0.1, 0.1, 0.01]),
    temperature_c: between(6, 40),
  };
  const args = ["bench", ...setup, "--waste", `${100 * choice.waste_share}%`, "--copies", `${choice.copies}`,
    "--scale-readability", `${choice.scale_readability_g}g`, "--temperature", `${choice.temperature_c}C`, "--json", "-", "--quiet"];
  if (choice.density_kg_m3 !== null) args.push("--basis", "molded", "--density", `${choice.density_kg_m3}kg/m3`);
  const result = run(program, args);
  const name = `case ${i} (${args.join(" ")})`;
  let ours = null;
  try {
    const mass = page.massOf(live, choice);
    const batch = page.batchOf(live, choice, mass);
    ours = { mass, batch, clock: page.clockOf(live.bench, choice, batch) };
  } catch (error) {
    if (!(error instanceof page.Refusal)) throw error;
  }
  if (ours === null || ![0, 1].includes(result.status)) {
    faults.check(ours === null && result.status === 2, `${name}: page ${ours ? "computes" : "refuses"}, program exits ${result.status} ${result.stderr}`);
    return false;
  }
  const { foam, batch, bench } = JSON.parse(result.stdout);
  compare(name, [
    ...["part_mass_g", "part_mass_low_g", "part_mass_high_g", "molded_density_kg_m3", "core_density_kg_m3"].map((k) => [k, ours.mass[k], foam[k]]),
    ...["pour_mass_g", "part_a_g", "part_b_g", "pigment_g", "waste_g", "batches", "cups_each", "ratio_uncertainty_percent",
      "least_batch_g", "scale_needed_g", "liquid_ml", "cup_ml", "total_a_g", "total_b_g", "total_pigment_g",
      "copies_per_kit", "cost_per_copy"].map((k) => [k, ours.batch[k], batch[k]]),
    ["ratio_off_percent", ours.batch.ratio_off_percent + 100, batch.ratio_off_percent + 100],
    ...["work_time_s", "demold_min_s", "demold_max_s"].map((k) => [k, ours.clock[k], bench[k]]),
    ["spare_s", ours.clock.chosen.spare_s + 1000, bench.spare_s + 1000],
    ["method", ours.clock.chosen.method, bench.method],
    ...bench.methods.map((m, k) => [`total_s of ${m.method}`, ours.clock.methods[k].total_s, m.total_s]),
    ...bench.methods.map((m, k) => [`possible ${m.method}`, String(ours.clock.methods[k].possible), String(m.possible)]),
  ]);
  return true;
}

// Setups that go through every branch: both generic cards, a mix between them, an exponential skin,
// a stated skin, pigment, spare, split cups, a card with kits and two temperatures.
const card = join(folder, "ours.toml");
const shown = run(program, ["foams", "show", "generic-firm"]).stdout;
writeFileSync(
  card,
  shown
    .replace(/^name = .*$/m, 'name = "ours"')
    .replace(/^typical = .*$/m, "typical = false")
    .replace(/^basis = .*$/m, 'basis = "molded"')
    .replace(/^at = .*$/m, 'at = "23 C"\nwork_2 = "52 s"\nat_2 = "15 C"') +
    '\n[kit]\na = "500 g"\nb = "1000 g"\nprice = 60\ncurrency = "EUR"\n',
);
writeFileSync(join(folder, "block.off"), boxOff(180, 60, 40));
writeFileSync(join(folder, "plate.off"), boxOff(150, 90, 6));
writeFileSync(join(folder, "bead.off"), boxOff(25, 20, 15));
const setups = [
  ["block.off", "--units", "mm"],
  ["block.off", "--units", "mm", "--foam", "generic-soft", "--pigment", "3%"],
  ["block.off", "--units", "mm", "--mix", "40:100", "--profile", "exponential"],
  ["plate.off", "--units", "mm", "--pigment", "2%", "--spare", "4g"],
  ["plate.off", "--units", "mm", "--skin-thickness", "1.2mm", "--skin-density", "500kg/m3", "--pour-hole-width", "6mm"],
  ["bead.off", "--units", "mm", "--pigment", "1%"],
  ["block.off", "--units", "mm", "--largest-batch", "30g", "--method", "open_half_and_turn"],
  ["block.off", "--units", "mm", "--foam", card],
].map(([mesh, ...more]) => [join(folder, mesh), ...more]);

try {
  const page = await pageArithmetic();
  const lives = setups.map((setup, i) => {
    const out = join(folder, `plan${i}`);
    planned(program, [...setup, "--out", out]);
    return sheetData(join(out, "pour_sheet.html")).live;
  });
  let answered = 0;
  for (let i = 0; i < CASES; ++i) {
    const k = i % setups.length;
    answered += check(page, lives[k], setups[k], i) ? 1 : 0;
  }
  console.log(`${CASES} cases, ${answered} answered, ${CASES - answered} refused by both`);
  // Both kinds must be there, or the test says less than it seems to.
  faults.check(answered > CASES / 2 && answered < CASES, "the cases hold both answers and refusals");
} finally {
  rmSync(folder, { recursive: true });
}
faults.end();
