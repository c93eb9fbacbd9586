// SPDX-License-Identifier: GPL-3.0-or-later
// The part that is turned on the page of `cavigram serve`: by mouse, keys and map, to the best nearby; holes, show side, ruler, cut.
//
//   node serve_turn_test.mjs PROGRAM PROJECT_FOLDER
import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { accessible as audited, box, chosen, serving, watchedPage, whole } from "./serving.mjs";
import { Faults, browser, pageModule } from "./sheet.mjs";

const [program, project] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_serve_turn_test_"));
const faults = new Faults();
const accessible = (at, name) => audited(at, name, faults);
const near = (a, b, within) => Math.abs(a - b) <= within;

// ---- skin and core of a cut, against closed forms ---------------------------------------------------
const pageSources = join(project, "tools/serve/page");
const { section, densityAt } = await pageModule(join(project, "tools/pour_sheet"), folder, "section", pageSources);
{
  // A box of 80 x 60 x 40 around the plane's middle: inside, the depth is that to the nearest of its six faces.
  const [a, b, c] = [40, 30, 20];
  const places = new Float32Array([...Array(8).keys()].flatMap((i) => [i & 1 ? a : -a, i & 2 ? b : -b, i & 4 ? c : -c]));
  const faces = [0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5];
  const cut = section(places, faces, 12, 160);
  let wrong = 0;
  let inside = 0;
  cut.depth_mm.forEach((depth, at) => {
    const x = cut.low[0] + ((at % cut.across) + 0.5) * cut.pixel_mm;
    const y = cut.low[1] + (Math.floor(at / cut.across) + 0.5) * cut.pixel_mm;
    inside += depth >= 0 ? 1 : 0;
    wrong += near(depth, Math.min(12, a - Math.abs(x), b - Math.abs(y), c), 1e-4) ? 0 : 1;
  });
  faults.check(wrong === 0 && inside === cut.across * cut.down, `box: ${wrong} depths are wrong, ${inside} of ${cut.across * cut.down} inside`);
}
{
  // A ball of radius 50 by 96 x 192 sides, cut 30 off its middle: the section is a disk of radius 40, the depth 50 less the
  // distance from the middle. The sides lie within 50 (1 - cos(pi / 96)) = 0.027 of it.
  const [R, off, rings, sectors] = [50, 30, 96, 192];
  const places = [];
  for (let i = 0; i <= rings; ++i) {
    for (let j = 0; j < sectors; ++j) {
      const [t, p] = [(Math.PI * i) / rings, (2 * Math.PI * j) / sectors];
      places.push(R * Math.sin(t) * Math.cos(p), R * Math.cos(t), R * Math.sin(t) * Math.sin(p) - off);
    }
  }
  const faces = [];
  for (let i = 0; i < rings; ++i) {
    for (let j = 0; j < sectors; ++j) {
      const [a, b, c, d] = [i * sectors + j, i * sectors + ((j + 1) % sectors), (i + 1) * sectors + j, (i + 1) * sectors + ((j + 1) % sectors)];
      faces.push(a, b, c, b, d, c);
    }
  }
  const cut = section(new Float32Array(places), faces, 8, 200);
  let wrong = 0;
  let inside = 0;
  cut.depth_mm.forEach((depth, at) => {
    const r = Math.hypot(cut.low[0] + ((at % cut.across) + 0.5) * cut.pixel_mm, cut.low[1] + (Math.floor(at / cut.across) + 0.5) * cut.pixel_mm);
    inside += depth >= 0 ? 1 : 0;
    if (Math.abs(r - 40) < 0.1) return; // which side of the rim, the sides decide
    wrong += near(depth, r > 40 ? -1 : Math.min(8, R - Math.hypot(r, off)), 0.03) ? 0 : 1;
  });
  faults.check(wrong === 0, `ball: ${wrong} depths are wrong`);
  const area = inside * cut.pixel_mm ** 2;
  faults.check(near(area, Math.PI * 40 ** 2, 0.01 * Math.PI * 40 ** 2), `ball: the section's area is ${area}`);
}
const foam = { thickness_mm: 2, skin_kg_m3: 400, core_kg_m3: 100 };
faults.check(densityAt({ ...foam, profile: "step" }, 1.9) === 400 && densityAt({ ...foam, profile: "step" }, 2.1) === 100, "density of a step");
faults.check(near(densityAt({ ...foam, profile: "exponential" }, 2), 100 + 300 / Math.E, 1e-9), "density of a skin that fades");

// ---- downhill on the map -------------------------------------------------------------------------------
const { downhill } = await pageModule(join(project, "tools/pour_sheet"), folder, "way_map.tsx", pageSources);
{
  // Fibonacci's lattice with one valley at +x: from anywhere less than 150 degrees off the way leads there, down all the time.
  const ways = [...Array(2000).keys()].map((i) => {
    const z = 1 - (2 * i + 1) / 2000;
    const angle = i * Math.PI * (3 - Math.sqrt(5));
    const up = [Math.sqrt(1 - z * z) * Math.cos(angle), Math.sqrt(1 - z * z) * Math.sin(angle), z];
    return { up, stays_mm3: 1000 * (1 - up[0]) };
  });
  const path = downhill(ways, [0, 0, -1]);
  faults.check(path.length > 5 && path[path.length - 1][0] > 0.998, `downhill ends at ${path[path.length - 1]}`);
  faults.check(path.every((up, i) => i === 0 || up[0] > path[i - 1][0]), "downhill goes up");
  faults.check(downhill(ways, path[path.length - 1]).length === 0, "the bottom has a better neighbor");
}

// ---- the page ---------------------------------------------------------------------------------------------
const server = await serving(program, folder);
const page = (context) => watchedPage(context, server, faults);
const chrome = await browser();
const context = await chrome.newContext({ viewport: { width: 1280, height: 900 } });
const tab = await page(context);
const canvas = tab.locator(".turning .stage canvas");
const drawn = () => canvas.evaluate((one) => one.dataset.drawn ?? "");
const upOf = (asked) => new URLSearchParams(asked).get("up").split(",").map(Number);
const angle = (a, b) => (180 / Math.PI) * Math.acos(Math.min(1, a.reduce((sum, x, i) => sum + x * b[i], 0) / Math.hypot(...a) / Math.hypot(...b)));
const other = (before) => tab.waitForFunction((asked) => (document.querySelector(".turning .stage canvas").dataset.drawn ?? asked) !== asked, before);
const air = async (asked) => tab.evaluate(async (path) => (await fetch(path)).json(), `/api/parts/${await chosen(tab)}/air?${asked}`);
// Once nothing moves and the answer for how it stands is drawn; all seen at one moment, or it moves on between two looks.
async function still() {
  let last = "";
  for (;;) {
    const now = await canvas.evaluate((one) => (one.dataset.going || document.querySelector(".turning .live.old") ? "" : (one.dataset.drawn ?? "")));
    if (now !== "" && now === last) return now;
    last = now;
    await tab.waitForTimeout(250);
  }
}
async function dropped(file, content) {
  if (content === undefined) copyFileSync(join(project, "sample_meshes", file), join(folder, file));
  else writeFileSync(join(folder, file), content);
  await tab.setInputFiles("input[type=file]", join(folder, file));
  await tab.waitForFunction((name) => document.querySelector("h1").textContent === name, file);
  await tab.waitForSelector(".size");
  if (content === undefined) await tab.getByRole("button", { name: /^in mm/ }).click();
  await whole(tab);
  await canvas.waitFor();
  await canvas.scrollIntoViewIfNeeded();
  return still();
}

// A plate first, upright: its broad side looks to the front, and what is measured and painted on it has a closed form.
const plate = [80, 2, 60];
await dropped("plate.stl", box(plate));
await tab.evaluate(async (path) => fetch(path, { method: "PUT", body: '{"up": ["+z"]}' }), `/api/parts/${await chosen(tab)}/options`);
await whole(tab);
await tab.waitForFunction(() => document.querySelector(".turning .stage canvas").dataset.drawn === "up=0%2C0%2C1");
await accessible(tab, "turning a plate");
const stage = await canvas.boundingBox();
const [midX, midY] = [stage.x + stage.width / 2, stage.y + stage.height / 2];
await tab.getByRole("radio", { name: "measures" }).check();
await tab.mouse.click(midX - 30, midY + 10);
await tab.mouse.click(midX + 50, midY + 10);
// The view is 2 x 0.56 of the box's diagonal high, and parallel: 80 pixels across a face that looks to the front.
const expected = (80 * 2 * 0.56 * Math.hypot(...plate)) / stage.height;
const measured = await tab.locator(".ruler").innerText();
faults.check(near(Number.parseFloat(measured), expected, 0.01 * expected) && /mm \(.* in\)/.test(measured), `ruler: ${measured}, expected ${expected} mm`);
await tab.getByRole("radio", { name: "paints the show side" }).check();
const before = await still();
await tab.mouse.move(midX - 20, midY + 5);
await tab.mouse.down();
for (let i = 1; i <= 8; ++i) await tab.mouse.move(midX - 20 + 5 * i, midY + 5);
await tab.mouse.up();
await other(before);
const painted = new URLSearchParams(await still()).get("show").split(",").map(Number);
const thickness = [0, 1, 2].map((k) => painted[3 + k] - painted[k]);
// One side of it, half a millimeter either way, and 35 pixels and the brush across.
faults.check(painted.length === 6 && near(thickness[1], 1, 0.01) && thickness[0] > (35 / 80) * expected + 1 && thickness[2] > 1, `painted: ${painted}`);
const seen = await drawn();
// Without a mouse: what a click does, in the middle of the view.
await tab.getByRole("radio", { name: "places the pour hole" }).check();
await canvas.focus();
await tab.keyboard.press("Enter");
await other(seen);
const placed = new URLSearchParams(await still()).get("pour-hole").split(",").map(Number);
faults.check(near(placed[2], plate[2], 0.01), `the top of an upright plate is at ${placed}`);
await tab.getByRole("button", { name: "No show side" }).click();
await tab.waitForFunction(() => /show=(&|$)/.test(document.querySelector(".turning .stage canvas").dataset.drawn ?? ""));

// A part that keeps air.
const start = await dropped("mooring_cleat.stl");
const planned = await tab.evaluate(async (path) => (await fetch(path)).json(), `/api/parts/${await chosen(tab)}/plan.json`);
faults.check(angle(upOf(start), planned.air.up) < 0.02, `it does not stand as planned: ${start}`);
const place = await canvas.boundingBox();
const [x, y] = [place.x + place.width / 2, place.y + place.height / 2];
await tab.mouse.move(x, y);
await tab.mouse.down();
for (let i = 1; i <= 12; ++i) await tab.mouse.move(x, y + 20 * i);
await tab.mouse.up();
await other(start);
const dragged = await still();
// 240 pixels down at 0.008 a pixel.
faults.check(near(angle(upOf(start), upOf(dragged)), (240 * 0.008 * 180) / Math.PI, 1), `a drag turned it by ${angle(upOf(start), upOf(dragged))} degrees`);
const told = await air(dragged);
const heard = await tab.locator(".live .stays").innerText();
const cm3 = Math.max(told.trapped_vented_mm3, told.smallest_pocket_mm3) / 1000;
faults.check(near(Number.parseFloat(heard.replace(/less than /i, "")), cm3, 0.005 * cm3), `stays: ${heard}, of ${cm3} cm3`);
faults.check((await tab.locator(".turning .labels .vent").count()) === told.vents.length, "vents on the part are not those that are told");

await canvas.focus();
await tab.keyboard.press("ArrowDown");
await tab.keyboard.press("ArrowDown");
await tab.keyboard.press("Shift+ArrowDown");
await other(dragged);
const keyed = await still();
faults.check(near(angle(upOf(dragged), upOf(keyed)), 11, 0.05), `keys turned it by ${angle(upOf(dragged), upOf(keyed))} degrees`);
await tab.keyboard.press("Home");
await other(keyed);
const home = await still();
faults.check(angle(upOf(home), planned.air.up) < 0.02, "Home does not go back");

// The map: the middle of the right disk is straight down, by Lambert's projection; half the radius is acos(1 - 1/4) from there.
const map = await tab.locator(".way-map svg").boundingBox();
const unit = map.width / 434;
await tab.mouse.click(map.x + 324 * unit, map.y + 110 * unit);
await other(home);
const down = await still();
faults.check(angle(upOf(down), [0, 0, -1]) < 1, `the map's middle is ${down}`);
await tab.mouse.click(map.x + (324 + 50) * unit, map.y + 110 * unit);
await other(down);
const half = await still();
faults.check(near(angle(upOf(half), [0, 0, -1]), (Math.acos(0.75) * 180) / Math.PI, 1) && Math.abs(upOf(half)[1]) < 0.02, `half the map's radius is ${half}`);

// Best from here: less air than before, or nothing changes.
const trapped = (await air(half)).trapped_vented_mm3;
await tab.getByRole("button", { name: "Best from here" }).click();
await tab.waitForFunction(() => !/^(Looking.*|)$/.test(document.querySelector(".walked").textContent), null, { timeout: 60000 });
const best = await still();
const walked = await tab.locator(".walked").innerText();
const least = (await air(best)).trapped_vented_mm3;
faults.check(/^From/.test(walked) ? least < trapped : best === half, `best from here: ${walked}, ${trapped} to ${least}`);
faults.check(/^From/.test(walked) || trapped < (await air(half)).smallest_pocket_mm3, `nothing better than ${trapped} mm3: ${walked}`);

// A pour hole by a click, then planned.
await tab.getByRole("radio", { name: "places the pour hole" }).check();
// Wherever the part is met first.
for (let i = -4; i <= 4 && (await drawn()) === best; ++i) {
  await canvas.click({ position: { x: place.width / 2 + 12 * i, y: place.height / 2 + 9 * i } });
  await tab.waitForTimeout(400);
}
const holed = await still();
faults.check(holed !== best, "no click places a hole");
const hole = (await air(holed)).openings.find((one) => one.kind === "pour_hole");
faults.check(hole.given && new URLSearchParams(holed).get("pour-hole").split(",").every((one, k) => near(Number(one), hole.at_mm[k], 2)), `the hole is at ${hole.at_mm}, asked ${holed}`);
await tab.getByRole("radio", { name: "places a vent" }).check();
for (let i = 4; i >= -4 && (await drawn()) === holed; --i) {
  await canvas.click({ position: { x: place.width / 2 + 14 * i, y: place.height / 2 + 7 * i } });
  await tab.waitForTimeout(400);
}
const vented = await still();
faults.check((await air(vented)).vents.some((one) => one.given), `no vent is given: ${vented}`);
await tab.getByRole("radio", { name: "across y" }).check();
await tab.waitForFunction(() => document.querySelector(".turning .stage canvas").dataset.section);
await accessible(tab, "a cut");
await tab.getByRole("button", { name: /^Plan this way up/ }).click();
await tab.waitForFunction(() => document.querySelector(".line").textContent.includes("--pour-hole"));
faults.check(/--up \S+ .*--vent|--vent .*--up /.test(await tab.locator(".line").innerText()), `command line: ${await tab.locator(".line").innerText()}`);
await whole(tab);
const made = await tab.evaluate(async (path) => (await fetch(path)).json(), `/api/parts/${await chosen(tab)}/plan.json`);
const tried = await air(vented);
for (const key of ["up", "openings", "vents", "trapped_vented_mm3", "trapped_unvented_mm3"]) faults.check(JSON.stringify(made.air[key]) === JSON.stringify(tried[key]), `planned otherwise than shown: ${key}`);

// ---- a phone, the dark, no WebGL -------------------------------------------------------------------------
await tab.setViewportSize({ width: 390, height: 800 });
await accessible(tab, "phone");
const dark = await chrome.newContext({ colorScheme: "dark", viewport: { width: 1280, height: 900 } });
const night = await page(dark);
await night.waitForSelector(".turning canvas");
await accessible(night, "dark");
await chrome.close();
const plain = await browser(["--disable-gpu", "--disable-software-rasterizer", "--disable-3d-apis"]);
const old = await page(await plain.newContext({ viewport: { width: 1280, height: 900 } }));
await old.waitForSelector(".turning .way-map svg");
faults.check(/no 3D/.test(await old.locator(".turn-view").innerText()), "nothing is said where there is no 3D");
await old.locator(".way-map svg").click({ position: { x: 60, y: 60 } });
await old.waitForSelector(".live .stays");
await plain.close();

faults.check((await server.end()) === 0, "the server does not end with 0");
rmSync(folder, { recursive: true, force: true });
faults.end();
