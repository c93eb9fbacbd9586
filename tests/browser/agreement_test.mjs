// SPDX-License-Identifier: GPL-3.0-or-later
// What stands in two places is the same: text, JSON, page and card of one plan, figure by figure.
//
//   node agreement_test.mjs PROGRAM PROJECT_FOLDER
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Faults, browser, opened, planned } from "./sheet.mjs";

const [program, project] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_agreement_"));
const faults = new Faults();
const sample = (name) => join(project, "sample_meshes", name);

const plans = [
  ["cleat", sample("mooring_cleat.stl"), "--units", "mm", "--density", "9lb/ft3", "--scale-readability", "0.1g"],
  ["cleat_up", sample("mooring_cleat.stl"), "--units", "mm", "--up", "+z", "--method", "through_hole", "--scale-readability", "0.1g"],
  ["lantern", sample("hand_lantern.glb"), "--pigment", "3%"],
  ["bell", sample("ships_bell.ply"), "--units", "mm", "--scale-readability", "0.1g", "--also", sample("mooring_cleat.stl")],
  ["coil", sample("rope_coil_inches.stl"), "--units", "in", "--copies", "4", "--up", "+z"],
  ["figurehead", sample("figurehead_scan.obj"), "--units", "mm", "--temperature", "15C"],
];

// One space between words, raised digits and degree signs as a terminal has them.
const bare = (words) => words.replaceAll("\u00b2", "2").replaceAll("\u00b3", "3").replaceAll("\u00b0", "").replaceAll("\u2212", "-").replace(/\s+/g, " ");

// Each reading is the JSON's value, as rounded as it is printed.
function same(name, what, value, readings) {
  for (const [where, texts] of Object.entries(readings)) {
    for (const text of texts) {
      const number = text.replace(",", "");
      const [whole, decimals = ""] = number.split(".");
      // Half of the last digit; a whole number of four digits or more was rounded to three figures.
      const coarse = decimals ? 10 ** -decimals.length : 10 ** Math.max(0, whole.length - 3);
      faults.check(Math.abs(Number(number) - value) <= 0.5 * coarse * (1 + 1e-9) + 1e-9, `${name}: ${what} is ${value} in the JSON and ${text} in the ${where}`);
    }
  }
}

const texts = (name, where, text, pattern) => {
  const all = [...text.matchAll(pattern)].map((match) => match[1]);
  faults.check(all.length > 0, `${name}: ${where} has nothing like ${pattern}`);
  return all;
};

function grams(name, plan, summary, page, card) {
  const { batch, window, foam } = plan;
  same(name, "A", batch.part_a_g, { text: texts(name, "text", summary, /POUR A ([\d.]+) g/g), page: texts(name, "page", page.weights, /^A ([\d.]+)/gm), card: texts(name, "card", card, /Weigh A: ([\d.]+) g/g) });
  same(name, "B", batch.part_b_g, { text: texts(name, "text", summary, /POUR A [\d.]+ g B ([\d.]+) g/g), card: texts(name, "card", card, /Weigh B: ([\d.]+) g/g) });
  same(name, "cup", batch.cup_ml, { text: texts(name, "text", summary, /in a cup of (\d+) mL/g), page: texts(name, "page", page.all, /cup of (\d+) mL/g), card: texts(name, "card", card, /into a cup of (\d+) mL/g) });
  same(name, "fills from", window.fills_from_g, { text: texts(name, "text", summary, /WINDOW fills from ([\d.]+) g/g), page: [page.window[0]], card: texts(name, "card", card, /fills from ?([\d.]+) g/g) });
  same(name, "planned", window.planned_g, { text: texts(name, "text", summary, /\| planned ([\d.]+) g/g), page: [page.window[1]], card: texts(name, "card", card, /planned ?([\d.]+) g/g) });
  same(name, "presses over", window.presses_over_g, { text: texts(name, "text", summary, /\| presses too hard over ([\d.]+) g/g), page: [page.window[2]], card: texts(name, "card", card, /presses too hard over ?([\d.]+) g/g) });
  same(name, "part", foam.part_mass_g, { text: texts(name, "text", summary, / Part ([\d.,]+) g/g), page: texts(name, "page", page.facts, /Part ([\d.,]+) g/g), card: texts(name, "card", card, /part ([\d.,]+) g \(/g) });
  same(name, "mean density", foam.molded_density_kg_m3, { text: texts(name, "text", summary, / Part [^|]*?mean ([\d.]+) kg/g), page: texts(name, "page", page.facts, /mean ([\d.]+) kg/g), card: texts(name, "card", card, /mean ([\d.]+) kg/g) });
  for (const also of foam.also ?? []) {
    const pattern = new RegExp(`${also.file.replace(".", "\\.")}, ([\\d.]+) g`, "g");
    same(name, also.file, also.part_mass_g, { text: texts(name, "text", summary, pattern), page: texts(name, "page", page.facts, pattern), card: texts(name, "card", card, pattern) });
    const own = new RegExp(`${plan.input.file.replace(".", "\\.")}, ([\\d.]+) g`, "g");
    same(name, plan.input.file, foam.part_mass_g, { text: texts(name, "text", summary, own), page: texts(name, "page", page.facts, own), card: texts(name, "card", card, own) });
  }
}

function clock(name, plan, summary, page, card) {
  same(name, "spare", Math.abs(plan.bench.spare_s), { text: texts(name, "text", summary, / Spare ([\d.]+) s/g), page: texts(name, "page", page.all, /Spare: ([\d.]+) s/g), card: texts(name, "card", card, /Spare ([\d.]+) s/g) });
  same(name, "work time", plan.bench.work_time_s, { text: texts(name, "text", summary, /Clock ([\d.]+) s of work time/g) });
}

// Holes, their widths and the air, for the way up that is planned for.
function holes(name, plan, summary, page, card) {
  const { air, orientations } = plan;
  const vents = air.vents.length;
  const told = [...summary.matchAll(/, ([\d.]+) mm wide; frees/g)].map((match) => match[1]);
  faults.check(told.length === vents, `${name}: the text lists ${told.length} vents, the JSON ${vents}`);
  faults.check(page.vents === vents, `${name}: the page lists ${page.vents} vents, the JSON ${vents}`);
  faults.check((card.match(/Vent \d/g) ?? []).length === vents, `${name}: the card lists ${(card.match(/Vent \d/g) ?? []).length} vents, the JSON ${vents}`);
  for (const vent of air.vents) {
    same(name, "a vent", vent.diameter_mm, { card: texts(name, "card", card, /drill ([\d.]+) mm/g).slice(-vents), text: told });
  }
  const up = orientations.find((row) => row.up.every((x, i) => Math.abs(x - air.up[i]) < 1e-6));
  faults.check(up !== undefined, `${name}: the way up that is planned for is no row`);
  faults.check(up.vents_made === vents, `${name}: ${up.vents_made} vents in the row, ${vents} planned`);
  faults.check(up.trapped_unvented_mm3 === air.trapped_unvented_mm3, `${name}: ${up.trapped_unvented_mm3} mm3 without vents in the row, ${air.trapped_unvented_mm3} planned`);
  faults.check(up.trapped_vented_mm3 === air.trapped_vented_mm3, `${name}: ${up.trapped_vented_mm3} mm3 left in the row, ${air.trapped_vented_mm3} planned`);
  faults.check(vents === 0 || !up.reasons.join(" ").includes("needs no vent"), `${name}: it needs no vent, and one is listed`);
  if (plan.bench.method === "through_hole") {
    same(name, "pour hole", air.pour_hole_mm, { text: texts(name, "text", summary, /Pour hole [^|]*?([\d.]+) mm wide/g).slice(0, 1), card: texts(name, "card", card, /Pour hole P.*?drill ([\d.]+) mm/g).slice(0, 1) });
  }
}

const driver = await browser();
for (const [name, file, ...options] of plans) {
  const out = join(folder, name);
  planned(program, [file, ...options, "--out", out]);
  const plan = JSON.parse(readFileSync(join(out, "plan.json"), "utf8"));
  const summary = bare(readFileSync(join(out, "summary.txt"), "utf8"));
  const page = await opened(driver, join(out, "pour_sheet.html"), faults);
  const shown = {
    weights: bare((await page.locator(".weights").innerText()).replace(/\n/g, " ")),
    window: (await page.locator(".window .value").allInnerTexts()).map((n) => n.replace(/\s*g$/, "").trim()),
    facts: bare(await page.locator(".facts").innerText()),
    all: bare(await page.locator("main").innerText()),
    vents: await page.locator(".holes .tag.vent").count(),
  };
  const card = bare(await page.locator("#card").evaluate((element) => element.textContent));
  grams(name, plan, summary, shown, card);
  clock(name, plan, summary, shown, card);
  holes(name, plan, summary, shown, card);
  faults.check(shown.all.includes("cavigram tally add"), `${name}: the page has no line that logs the casting`);
  await page.close();
}
await driver.close();
rmSync(folder, { recursive: true, force: true });
faults.end();
