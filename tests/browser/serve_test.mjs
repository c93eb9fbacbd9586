// SPDX-License-Identifier: GPL-3.0-or-later
// `cavigram serve` as a person uses it: drop, look, change, stop, save, in a real browser on the real server.
//
//   node serve_test.mjs PROGRAM PROJECT_FOLDER
import { copyFileSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { accessible as audited, box, chosen, serving, watchedPage, whole } from "./serving.mjs";
import { Faults, browser, run } from "./sheet.mjs";

const [program, project] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_serve_test_"));
const faults = new Faults();

const page = (context, address) => watchedPage(context, server, faults, address);
const accessible = (at, name) => audited(at, name, faults);
const fetched = (at, file) => at.evaluate(async (path) => (await fetch(path)).text(), file);
const large = (at) => at.locator(".weights .number").allInnerTexts();

const server = await serving(program, folder);
const { address, origin, temp } = server;
const chrome = await browser();
const context = await chrome.newContext({ viewport: { width: 1280, height: 900 } });
const tab = await page(context, address);
faults.check(!tab.url().includes("key="), `the key stays in the address bar: ${tab.url()}`);
await accessible(tab, "empty page");

// ---- a sample: size at once, then grams, then the sheet --------------------------------------------
copyFileSync(join(project, "sample_meshes/mooring_cleat.stl"), join(folder, "mooring_cleat.stl"));
await tab.setInputFiles("input[type=file]", join(folder, "mooring_cleat.stl"));
await tab.waitForSelector(".size");
// sample_meshes/README.md: 214 mm long
faults.check((await tab.locator(".long").innerText()) === "214 mm (8.42 in) long", `size: ${await tab.locator(".long").innerText()}`);
await tab.getByRole("button", { name: "US first" }).click();
faults.check(/^8\.42 in \(214 mm\) long$/.test(await tab.locator(".long").innerText()), `US first: ${await tab.locator(".long").innerText()}`);
await tab.getByRole("button", { name: "metric first" }).click();
await tab.getByRole("button", { name: /^in mm/ }).click(); // says the unit, and begins again
await whole(tab);
const id = await chosen(tab);
const planned = run(program, ["plan", "mooring_cleat.stl", "--units", "mm", "--out", "out", "--quiet"], { cwd: folder });
faults.check([0, 1].includes(planned.status), planned.stderr);
const asTyped = readFileSync(join(folder, "out/plan.json"), "utf8");
faults.check((await fetched(tab, `/api/parts/${id}/plan.json`)) === asTyped, "the page's JSON is not the command line's");
faults.check((await tab.locator(".line").innerText()) === "cavigram plan mooring_cleat.stl --units mm", `command line: ${await tab.locator(".line").innerText()}`);
const batch = JSON.parse(asTyped).batch;
faults.check((await large(tab)).every((text, i) => Number.parseFloat(text) === [batch.part_a_g, batch.part_b_g][i]), `grams: ${await large(tab)}`);
const sheet = tab.frameLocator(".sheet iframe");
await sheet.locator("body[data-ready]").waitFor({ state: "attached", timeout: 60000 });
faults.check((await sheet.locator(".weights .number").first().innerText()).replace(/\s/g, "") === (await large(tab))[0].replace(/\s/g, ""), "page and sheet tell other grams");
await accessible(tab, "plan");

// ---- saving -----------------------------------------------------------------------------------------
const saving = tab.waitForEvent("download");
await tab.getByRole("link", { name: /Save the plan folder/ }).click();
const saved = await saving;
faults.check(saved.suggestedFilename() === "mooring_cleat_plan.zip", `saved as ${saved.suggestedFilename()}`);
const bytes = readFileSync(await saved.path());
faults.check(bytes.subarray(0, 4).toString("latin1") === "PK\u0003\u0004" && bytes.includes("pour_sheet.html") && bytes.includes("job.toml"), "the ZIP is none, or lacks the sheet");

// ---- a box from here on: quicker. Dropped by the mouse, under a name that is markup -----------------
const evil = `"><img src=x onerror=alert(1)>.stl`;
await tab.evaluate(
  ([name, text]) => {
    const data = new DataTransfer();
    data.items.add(new File([text], name));
    for (const type of ["dragover", "drop"]) document.querySelector(".drop").dispatchEvent(new DragEvent(type, { bubbles: true, cancelable: true, dataTransfer: data }));
  },
  [evil, box(80)],
);
await tab.waitForFunction((name) => document.querySelector("h1").textContent === name, evil);
await whole(tab);
faults.check((await tab.locator("img[src=x]").count()) === 0, "a file's name became markup");
faults.check((await tab.locator(".parts li").count()) === 2, "two files are not two parts");

// ---- an option by the keyboard alone ----------------------------------------------------------------
await tab.locator("input[type=search]").focus();
await tab.keyboard.type("density");
await tab.locator("#option-density").waitFor();
while ((await tab.evaluate(() => document.activeElement.id)) !== "option-density") await tab.keyboard.press("Tab");
const before = await large(tab);
await tab.keyboard.type("14 lb/ft3");
await tab.keyboard.press("Enter");
await tab.waitForFunction(() => document.querySelector(".line").textContent.includes("--density '14 lb/ft3'"));
await whole(tab);
await tab.waitForFunction((text) => document.querySelector(".weights .number").innerText !== text, before[0]);
const after = JSON.parse(await fetched(tab, `/api/parts/${await chosen(tab)}/plan.json`));
faults.check(Math.abs(after.foam.molded_density_kg_m3 - 14 * 16.018463373960138) < 0.01, `14 lb/ft3 is ${after.foam.molded_density_kg_m3} kg/m3`); // NIST SP 811, app. B
faults.check(Number.parseFloat((await large(tab))[0]) === after.batch.part_a_g, `grams after the change: ${await large(tab)}`);
await tab.locator("#option-density").fill("9 mm");
await tab.keyboard.press("Enter");
await tab.waitForFunction(() => document.getElementById("option-density-wrong").textContent !== "");
faults.check(/^--density .*9 mm.*\.$/.test(await tab.locator("#option-density-wrong").innerText()), `refusal: ${await tab.locator("#option-density-wrong").innerText()}`);
faults.check((await tab.locator(".line").innerText()).includes("14 lb/ft3"), "a refused value was taken");

// ---- two tabs, reload, stop ---------------------------------------------------------------------------
const second = await page(context, `${origin}/#${await chosen(tab)}`);
await whole(second);
await second.locator("input[type=search]").fill("copies");
await second.locator("#option-copies").fill("4");
await second.locator("#option-copies").press("Enter");
await tab.waitForFunction(() => document.querySelector(".line").textContent.includes("--copies 4"));
await tab.locator("input[type=search]").fill("");
await tab.reload();
await whole(tab);
faults.check((await tab.locator(".line").innerText()).includes("--copies 4") && (await tab.locator("h1").innerText()) === evil, "a reload loses the state");
await second.close();
await tab.getByRole("link", { name: "mooring_cleat.stl" }).click();
await tab.waitForFunction(() => document.querySelector("h1").textContent === "mooring_cleat.stl");
await whole(tab);
// Another size makes everything anew; what is done in a blink can't be stopped.
await tab.locator("input[type=search]").fill("longest");
await tab.locator("#option-longest").fill("230mm");
await tab.locator("#option-longest").press("Enter");
await tab.getByRole("button", { name: "Stop" }).click();
await tab.waitForFunction(() => document.querySelector(".progress .mode").textContent === "stopped");
faults.check((await tab.locator(".stale").count()) > 0, "what is old does not look old");
faults.check((await tab.getByRole("link", { name: /Save the plan folder/ }).count()) === 0, "an old plan can be saved as the new one");
await tab.getByRole("button", { name: "Go on" }).click();
await whole(tab);

// ---- what can't be read, a phone, the dark ------------------------------------------------------------
writeFileSync(join(folder, "notes.obj"), "no mesh");
await tab.setInputFiles("input[type=file]", join(folder, "notes.obj"));
await tab.waitForSelector(".progress .stop");
faults.check((await tab.locator(".progress .stop").innerText()).includes("notes.obj"), "a failure does not name its file");
await tab.getByRole("button", { name: "Close notes.obj" }).click();
await tab.waitForFunction(() => document.querySelectorAll(".parts li").length === 2);
await tab.setViewportSize({ width: 390, height: 800 });
await accessible(tab, "phone");
const dark = await chrome.newContext({ colorScheme: "dark", viewport: { width: 1280, height: 900 } });
const night = await page(dark, address);
await night.waitForSelector(".size");
await accessible(night, "dark");

// ---- the end -------------------------------------------------------------------------------------------
faults.check((await server.end()) === 0, "the server does not end with 0");
faults.check(readdirSync(temp).length === 0, "the server leaves files");
await chrome.close();
rmSync(folder, { recursive: true, force: true });
faults.end();
