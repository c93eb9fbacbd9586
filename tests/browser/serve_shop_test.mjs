// SPDX-License-Identifier: GPL-3.0-or-later
// A shop's day on the page of `cavigram serve`: several files, faults, the tally, recent parts, two tabs.
//
//   node serve_shop_test.mjs PROGRAM
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { accessible, box, chosen, serving, watchedPage, whole } from "./serving.mjs";
import { Faults, browser, run } from "./sheet.mjs";

const [program] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_shop_test_"));
const faults = new Faults();
const log = join(folder, "shop.db");
const server = await serving(program, folder, "--tally", log);
const chrome = await browser();
const context = await chrome.newContext({ viewport: { width: 1280, height: 900 } });
const tab = await watchedPage(context, server, faults);
const audit = (at, name) => accessible(at, name, faults);
const text = (at, selector) => at.locator(selector).innerText();
const fetched = (at, path) => at.evaluate(async (from) => (await fetch(from)).text(), path);
const typed = (...words) => run(program, words, { cwd: folder });

// ---- several files in one drop, from one cup --------------------------------------------------------
for (const size of [60, 45, 30]) writeFileSync(join(folder, `box${size}.stl`), box(size));
await tab.setInputFiles("input[type=file]", ["box60.stl", "box45.stl"].map((name) => join(folder, name)));
await tab.getByRole("button", { name: "All from one cup" }).click();
await tab.waitForSelector(".came", { state: "detached" });
await tab.waitForFunction(() => document.querySelector("h1").textContent === "box60.stl");
await whole(tab);
faults.check((await text(tab, ".line")) === "cavigram plan box60.stl --also box45.stl", `one cup: ${await text(tab, ".line")}`);
const first = await chosen(tab);
typed("plan", "box60.stl", "--also", "box45.stl", "--out", "out", "--quiet");
faults.check((await fetched(tab, `/api/parts/${first}/plan.json`)) === readFileSync(join(folder, "out/plan.json"), "utf8"), "one cup: the page's plan is not the command line's");
await tab.getByText("weighed with box60.stl").waitFor();
faults.check((await tab.locator(".several tbody tr").nth(1).innerText()).includes("weighed with box60.stl"), "a part in another's cup shows grams of its own");
await audit(tab, "several parts");
await tab.getByRole("checkbox", { name: "box45.stl" }).uncheck();
await tab.waitForFunction(() => !document.querySelector(".line").textContent.includes("--also"));
await whole(tab);
// By itself it is too little for a scale of 1 g: no grams stand where a stop speaks against them.
await tab.waitForFunction(() => /A [\d.]+ g, B [\d.]+ g/.test(document.querySelectorAll(".several tbody tr")[0].innerText));
await tab.waitForFunction(() => document.querySelectorAll(".several tbody tr")[1].innerText.includes("Don't pour: On a scale that shows 1 g"));
// A list to plan one after the other.
await tab.setInputFiles("input[type=file]", ["box30.stl", "box45.stl"].map((name) => join(folder, name)));
await tab.getByRole("button", { name: "One after the other" }).click();
await tab.waitForFunction(() => [...document.querySelectorAll(".several tbody tr")].filter((row) => row.innerText.includes("done")).length === 4, null, { timeout: 120000 });
faults.check((await tab.locator(".several td", { hasText: "weighed with" }).count()) === 0, "one after the other became one cup");
await tab.getByRole("button", { name: "Close box45.stl" }).nth(1).click();
await tab.waitForFunction(() => document.querySelectorAll(".parts li").length === 3);

// ---- how large it is --------------------------------------------------------------------------------
await tab.goto(`${server.origin}/#${first}`);
await tab.waitForFunction(() => document.querySelector("h1").textContent === "box60.stl");
await tab.locator("#longest").fill("355mm");
await tab.getByRole("button", { name: "Scale it" }).click();
await tab.waitForFunction(() => document.querySelector(".long").innerText === "355 mm (14.0 in) long");
await tab.getByRole("button", { name: /^in cm/ }).click();
await tab.waitForFunction(() => document.querySelector(".long").innerText === "600 mm (23.6 in) long");
await tab.getByRole("button", { name: /^in mm/ }).click();
await whole(tab);
faults.check((await text(tab, ".long")) === "60.0 mm (2.36 in) long", `size: ${await text(tab, ".long")}`);
await tab.locator("#longest").fill("three feet");
await tab.getByRole("button", { name: "Scale it" }).click();
await tab.waitForFunction(() => document.querySelector(".size .wrong").textContent !== "");
faults.check((await text(tab, ".size .wrong")) === typed("plan", "box60.stl", "--longest", "three feet", "--quiet").stderr.replace("cavigram: ", "").trim(), "a size is refused in other words");

// ---- the tally: refused, doubted, logged ------------------------------------------------------------
const say = async (at, name, value) => at.locator(`#weighed-${name}`).fill(value);
const refusal = (at) => at.locator(".log .wrong");
const other = ["tally", "add", "box60.stl", "--units", "mm", "--db", join(folder, "other.db")];
const told = (words) => typed(...other, ...words).stderr.replace("cavigram: ", "").trim();
await say(tab, "part-mass", "3 kg");
await tab.locator("#weighed-part-mass").press("Enter");
await tab.waitForFunction(() => document.querySelector(".log .wrong").textContent !== "");
faults.check((await refusal(tab).innerText()) === told(["--part-mass", "3 kg"]), `refusal: ${await refusal(tab).innerText()}`);
faults.check((await tab.getByRole("button", { name: /--yes/ }).count()) === 0, "what can't be is offered to be logged");
await say(tab, "part-mass", "90 g");
await tab.getByRole("button", { name: "Log it", exact: true }).click();
await tab.getByRole("button", { name: /--yes/ }).waitFor();
faults.check((await refusal(tab).innerText()) === told(["--part-mass", "90 g"]), `doubt: ${await refusal(tab).innerText()}`);
await audit(tab, "a doubt");
// Another figure is another question.
await say(tab, "part-mass", "91 g");
faults.check((await tab.getByRole("button", { name: /--yes/ }).count()) === 0, "a doubt outlives the figure that it was about");
await tab.getByRole("button", { name: "Log it", exact: true }).click();
await tab.getByRole("button", { name: /--yes/ }).click();
await tab.waitForFunction(() => document.querySelector(".logged").textContent.startsWith("Logged: 1 "));
const evil = `<img src=x onerror=alert(1)>'; drop table castings; --`;
await say(tab, "part-mass", "32.5 g");
await say(tab, "cup", "36 g");
await say(tab, "note", evil);
await tab.locator("#weighed-part-mass").press("Enter");
await tab.waitForFunction(() => document.querySelectorAll(".castings li").length === 2);
faults.check((await tab.locator("img[src=x]").count()) === 0 && (await text(tab, ".castings li:nth-child(2)")).includes(evil), "a note became markup");
faults.check((await tab.locator("#weighed-part-mass").inputValue()) === "", "what was logged stays in the form, to be logged twice");

// ---- two tabs: each hears of the other, and keeps what is being typed --------------------------------
const second = await watchedPage(context, server, faults, `${server.origin}/#${first}`);
await second.locator(".castings li").nth(1).waitFor();
await say(tab, "note", "half a sen");
await second.waitForSelector(".log");
for (const mass of ["33.1 g", "32.9 g", "33.4 g", "32.2 g"]) {
  await second.locator("#weighed-part-mass").fill(mass);
  await second.locator("#weighed-part-mass").press("Enter");
  await second.waitForFunction((said) => document.querySelector(".log .logged").textContent.includes(said), mass.replace(" g", ""));
}
await tab.waitForFunction(() => document.querySelectorAll(".castings li").length === 6);
faults.check((await tab.locator("#weighed-note").inputValue()) === "half a sen", "another tab's casting takes away what is being typed");
faults.check((await chosen(tab)) === first, "another tab moves this one");
await tab.locator(".late", { hasText: "casting 1." }).waitFor();
faults.check((await tab.locator(".castings-chart").getAttribute("aria-label")).endsWith("6 castings; outside: 1."), "the chart does not name the casting that lies outside");
faults.check((await tab.locator(".castings-chart .outside").count()) === 1, "no mark for the casting outside");
await audit(tab, "tally");
// Wrong, so corrected in one tab; removed in the other.
await tab.getByRole("button", { name: "Correct casting 1" }).click();
faults.check((await tab.locator("#correct-1-part-mass").getAttribute("placeholder")) === "91 g", "a correction does not show what stands there");
await tab.locator("#correct-1-part-mass").fill("33 g");
await tab.locator("#correct-1-part-mass").press("Enter");
await tab.waitForFunction(() => /^Was: 1 .* Now: 1 /s.test(document.querySelector(".tally .logged").textContent));
await tab.locator(".castings-chart .outside").waitFor({ state: "detached" });
await second.getByRole("button", { name: "Remove casting 2" }).click();
await second.getByRole("button", { name: "Take casting 2 out" }).click();
await tab.waitForFunction(() => document.querySelectorAll(".castings li").length === 5);
await tab.getByRole("button", { name: "Take back casting 6" }).click();
for (const one of [tab, second]) await one.waitForFunction(() => document.querySelectorAll(".castings li").length === 4);
await second.close();
const saving = tab.waitForEvent("download");
await tab.getByRole("link", { name: "Save as CSV" }).click();
const saved = await saving;
faults.check(saved.suggestedFilename() === "castings.csv" && readFileSync(await saved.path(), "utf8") === typed("tally", "export", "--db", log).stdout, "the CSV is not the command line's");
faults.check((await tab.locator(".fits .line").textContent()).trim() === typed("tally", "fit", "--db", log).stdout.trim(), "page and command line say other things of the castings");
// What another program logs is seen when the page is loaded again.
typed("tally", "add", "box60.stl", "--units", "mm", "--part-mass", "33g", "--db", log);
await tab.reload();
await tab.waitForFunction(() => document.querySelectorAll(".castings li").length === 5);
await whole(tab);
faults.check((await text(tab, "h1")) === "box60.stl" && (await tab.locator(".parts li").count()) === 3, "a reload loses the state");

// ---- faults, before and after -----------------------------------------------------------------------
writeFileSync(join(folder, "open.stl"), box(50, (i) => i !== 4));
await tab.setInputFiles("input[type=file]", join(folder, "open.stl"));
await tab.waitForFunction(() => document.querySelector("h1").textContent === "open.stl");
await tab.waitForSelector(".faults:not(.stale)");
const drawn = () => tab.waitForFunction(() => [...document.querySelectorAll(".before-after img")].length === 2 && [...document.querySelectorAll(".before-after img")].every((image) => image.complete && image.naturalWidth > 100));
await drawn();
faults.check(/missing base: 1/.test(await text(tab, ".before-after section:first-child")) && /close holes: 1/.test(await text(tab, ".before-after section:last-child")), `faults: ${await text(tab, ".before-after")}`);
const id = await chosen(tab);
const before = await fetched(tab, `/api/parts/${id}/faults.svg`);
faults.check(/<circle/.test(before) && !/<script|onload|href="http/.test(before), "the hole has no ring");
await tab.getByRole("button", { name: "a quarter turn on" }).click();
await tab.waitForFunction(() => document.querySelector(".before-after img").src.includes("from=side"));
await drawn();
await audit(tab, "faults");
await tab.setViewportSize({ width: 390, height: 800 });
await tab.locator("details.recent").evaluate((details) => (details.open = true));
await audit(tab, "phone");
await tab.setViewportSize({ width: 1280, height: 900 });

// ---- recent parts: over an end, opened with what was chosen, forgotten --------------------------------
await tab.goto(`${server.origin}/#${first}`);
await tab.waitForFunction(() => document.querySelector("h1").textContent === "box60.stl");
await tab.locator("input[type=search]").fill("copies");
await tab.locator("#option-copies").fill("3");
await tab.locator("#option-copies").press("Enter");
await tab.waitForFunction(() => document.querySelector(".line").textContent.includes("--copies 3"));
await tab.close();
faults.check((await server.end("SIGKILL")) === null, "a kill is no end");
const next = await serving(program, folder, "--tally", log);
const dark = await chrome.newContext({ colorScheme: "dark", viewport: { width: 1280, height: 900 } });
const day = await watchedPage(dark, next, faults);
faults.check(readdirSync(next.temp).length === 1, "what a kill left is there after the next start");
await day.locator("details.recent[open]").waitFor();
faults.check((await day.locator(".recent li").count()) === 4, `recent: ${await text(day, ".recent")}`);
await day.locator(".castings li").nth(4).waitFor(); // the tally without a part
await audit(day, "dark");
await day.locator(".recent").getByRole("button", { name: "box60.stl", exact: true }).click();
await day.waitForFunction(() => document.querySelector(".line")?.textContent.includes("--copies 3"));
await whole(day);
await day.getByRole("button", { name: "Close box60.stl" }).click();
await day.waitForFunction(() => document.querySelectorAll(".parts li").length === 0);
await day.getByRole("button", { name: "Forget box30.stl" }).click();
await day.waitForFunction(() => document.querySelectorAll(".recent li").length === 3);
await day.getByRole("button", { name: "Forget them all" }).click();
await day.waitForSelector(".recent", { state: "detached" });
faults.check(readdirSync(join(folder, "data/cavigram/recent")).join() === "lock", "what was forgotten lies there still");

faults.check((await next.end()) === 0, "the server does not end with 0");
faults.check(readdirSync(next.temp).length === 0, "the server leaves files");
await chrome.close();
rmSync(folder, { recursive: true, force: true });
faults.end();
