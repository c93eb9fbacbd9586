// SPDX-License-Identifier: GPL-3.0-or-later
// The pour sheet as a person opens it: from the disk, in a real browser, for all samples.
//
//   node pour_sheet_test.mjs PROGRAM PROJECT_FOLDER REFERENCE_DATA
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Faults, browser, opened, planned, run, sheetData } from "./sheet.mjs";

const [program, project, reference] = process.argv.slice(2);
const require = createRequire(import.meta.url);
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const folder = mkdtempSync(join(tmpdir(), "cavigram_sheet_"));
const faults = new Faults();

const samples = [
  ["mooring_cleat.stl", "--units", "mm", "--density", "9lb/ft3"],
  ["hand_lantern.glb", "--pigment", "3%"],
  ["ships_bell.ply", "--units", "mm", "--scale-readability", "0.1g"],
  ["rope_coil_inches.stl", "--units", "in", "--copies", "4"],
  ["figurehead_scan.obj", "--units", "mm", "--temperature", "15C"],
];

const text = (page, selector) => page.locator(selector).innerText();
// As a terminal has it: without raised digits and degree signs.
const bare = (words) => words.replaceAll("\u00b2", "2").replaceAll("\u00b3", "3").replaceAll("\u00b0", "").replaceAll("\u2212", "-");

// Grams and seconds as printed large are those of plan.json, and the sentences those of the summary.
async function numbersAgree(page, data, summary, name) {
  const { batch, bench, balance, window } = data.plan;
  const decimals = (step) => Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
  const grams = (value) => value.toFixed(decimals(batch.scale_readability_g));
  const numbers = await page.locator(".weights .number").allInnerTexts();
  const large = numbers.map((n) => n.replace(/\s*(g|s)$/, "").trim());
  faults.check(large[0] === grams(batch.part_a_g), `${name}: A is ${large[0]}, the plan says ${batch.part_a_g}`);
  faults.check(large[1] === grams(batch.part_b_g), `${name}: B is ${large[1]}, the plan says ${batch.part_b_g}`);
  if (data.live.pigment_share > 0) {
    faults.check(Math.abs(Number(large[2]) - batch.pigment_g) < 0.051, `${name}: pigment is ${large[2]}, the plan says ${batch.pigment_g}`);
  }
  const spare = large[large.length - 1];
  faults.check(Math.abs(Number(spare) - bench.spare_s) <= 0.05 * Math.max(1, bench.spare_s), `${name}: ${spare} s to spare, the plan says ${bench.spare_s}`);
  faults.check((await page.title()).endsWith(data.plan.input.file), `${name}: title is ${await page.title()}`);
  // The window: three figures, above the first screen's end, and in the summary's own digits.
  const shown = (await page.locator(".window .value").allInnerTexts()).map((n) => n.replace(/\s*g$/, "").trim());
  const [fills, planned_, presses] = [window.fills_from_g, window.planned_g, window.presses_over_g];
  [fills, planned_, presses].forEach((g, i) => faults.check(Math.abs(Number(shown[i]) - g) <= 0.005 * g, `${name}: the window shows ${shown[i]}, the plan says ${g}`));
  faults.check(summary.includes(`fills from ${shown[0]} g`) && summary.includes(`planned ${shown[1]} g`) && summary.includes(`presses too hard over ${shown[2]} g`), `${name}: the summary's window is not ${shown}`);
  const box = await page.locator(".window-bar").boundingBox();
  faults.check(box !== null && box.y + box.height < 900, `${name}: the window is not seen at once`);
  // What adds up, as it is printed.
  const pour = await text(page, ".facts .row:has(dt:text-is('Pour')) dd");
  for (const piece of bare(pour).split(": ")) faults.check(summary.includes(piece), `${name}: "${piece}" is not in the summary`);
  const [whole, ...pieces] = pour.match(/[\d.]+(?= g together| g in each| g part| in pour hole| stays| in A's| flash| spare| rounding)/g).map(Number);
  const sum = pieces.reduce((p, q) => p + q, 0) - (/\u2212|- /.test(pour) ? 2 * pieces[pieces.length - 1] : 0);
  faults.check(Math.abs(sum - batch.cups_each * whole) < 1e-9, `${name}: ${pour} does not add up`);
  faults.check(Math.abs(balance.closes_to_g) < 1e-9, `${name}: the balance closes to ${balance.closes_to_g}`);
  const truth = (await text(page, ".facts .row:has(dt:text-is('Scale')) dd")).split(";")[0];
  faults.check(summary.includes(truth), `${name}: "${truth}" is not in the summary`);
  for (const row of ["Presses"]) {
    const words = bare(await text(page, `.facts .row:has(dt:text-is('${row}')) dd`));
    faults.check(summary.includes(words), `${name}: "${words}" is not in the summary`);
  }
}

// Steps, deadlines and what the foam does, in order of time, as the summary has them.
async function timeLine(page, summary, name) {
  const lines = page.locator(".time-line li");
  let last = -1;
  for (let i = 0; i < (await lines.count()); ++i) {
    const when = await lines.nth(i).locator(".when").innerText();
    const doing = await lines.nth(i).locator(".doing").innerText();
    faults.check(Number.parseInt(when, 10) >= last, `${name}: ${doing} at ${when} comes after ${last} s`);
    last = Number.parseInt(when, 10);
    const by = lines.nth(i).locator(".by");
    const words = `${when} ${doing}${(await by.count()) ? ` ${await by.innerText()}` : ""}`;
    faults.check(summary.includes(words), `${name}: "${words}" is not in the summary`);
  }
  faults.check((await page.locator(".time-line .by").count()) >= 2, `${name}: the time line has no deadlines`);
  faults.check((await page.locator(".time-line .foam").count()) === 3, `${name}: the time line does not say what the foam does`);
  const spare = (await text(page, ".spare-line")).replace("Spare: ", "Spare ").replace(/\.$/, "");
  faults.check(summary.includes(spare), `${name}: "${spare}" is not in the summary`);
}

// What is a guess is said once, at the end.
async function guessesOnce(page, data, name) {
  const rows = await page.locator(".guesses tbody tr").count();
  faults.check(rows === data.plan.guesses.length && rows > 0, `${name}: ${rows} guesses are shown of ${data.plan.guesses.length}`);
  const elsewhere = (await text(page, "main")).replace(await text(page, ".guesses"), "");
  faults.check(!/guess/i.test(elsewhere), `${name}: a guess is told elsewhere too`);
  const last = await page.locator("main > section, main > div").last().getAttribute("class");
  faults.check(/guesses/.test(last), `${name}: the guesses are not at the end`);
}

async function canvasPixels(page) {
  return (await page.locator(".stage").screenshot()).toString("base64");
}

// Every button, radio, box and slider is used once; each must do something that can be seen, or at
// least break nothing (console and script errors are faults everywhere).
async function everyControl(page, name) {
  const before = await canvasPixels(page);
  for (const radio of await page.locator("input[type=radio]").all()) await radio.check();
  faults.check((await canvasPixels(page)) !== before, `${name}: surface and cut change nothing that is seen`);
  await page.locator("#cut-at").focus();
  for (let i = 0; i < 10; ++i) await page.keyboard.press("ArrowLeft");
  for (const box of await page.locator("input[type=checkbox]").all()) await box.click();
  for (const button of await page.locator(".tools button, .go").all()) await button.click();
  const ways = page.locator(".ways button");
  for (let i = 0; i < (await ways.count()); ++i) {
    await ways.nth(i).click();
    faults.check((await ways.nth(i).getAttribute("aria-pressed")) === "true", `${name}: way up ${i + 1} does not say that it is chosen`);
    faults.check((await text(page, ".about")).length > 20, `${name}: nothing is said about way up ${i + 1}`);
  }
}

async function knobs(page, data, name) {
  const total = async () => (await page.locator(".weights .number").allInnerTexts()).slice(0, 2).join(" ");
  const row = (name) => page.locator(`.facts .row:has(dt:text-is('${name}')) dd`);
  const before = await total();
  await page.fill("#knob-density", "200");
  const changed = await total();
  faults.check(changed !== before, `${name}: another density leaves the grams as they are`);
  faults.check(/chosen for this density/.test(await row("Mix").innerText()), `${name}: the density does not choose the mix`);
  faults.check(/\bor 50:100, firmer/.test(await row("Mix").innerText()), `${name}: the other mix is not told`);
  faults.check((await row("To the hand").count()) === 0 && (await row("To the hand (as planned)").count()) === 1, `${name}: the density picture's figures do not say that they are as planned`);
  faults.check((await page.locator("label:text-is('Local density, as planned')").count()) === 1, `${name}: the coloring does not say that it is as planned`);
  await page.fill("#knob-waste", "95");
  faults.check(/0 to 90 %/.test(await text(page, ".message")), `${name}: waste of 95 % is not refused in words`);
  faults.check((await page.locator(".weights, .window").count()) === 0, `${name}: refused figures leave grams on the page`);
  faults.check(/0 to 90 %/.test(await text(page, ".stopped")), `${name}: where the grams were it does not say why there are none`);
  faults.check(!/Weigh [AB]/.test(await page.locator("#card").evaluate((element) => element.textContent)), `${name}: refused, and the card has grams`);
  await page.fill("#knob-waste", "10");
  faults.check((await total()) === changed, `${name}: the grams do not come back once a refused figure is mended`);
  await page.fill("#knob-waste", "20");
  await page.fill("#knob-density", "600");
  faults.check(/all skin and more/.test(await text(page, ".message")), `${name}: a part of all skin is not refused in words`);
  await page.fill("#knob-density", "200");
  await page.fill("#knob-copies", "3");
  await page.fill("#knob-scale", "0.01");
  await page.fill("#knob-temperature", "60");
  faults.check(/measure them at your temperature/.test(await text(page, ".message")), `${name}: 60 C is not refused in words`);
  await page.fill("#knob-temperature", "18");
  faults.check((await text(page, ".message")) === "", `${name}: a message stays: ${await text(page, ".message")}`);
  await stops(page, name);
  await page.fill("#knob-density", "");
  faults.check(/give a number/.test(await text(page, ".message")), `${name}: an empty field is not answered in words`);
  faults.check((await page.locator(".weights").count()) === 0, `${name}: an empty field leaves grams on the page`);
  await page.click("#knob-back");
  faults.check((await total()) === before, `${name}: back to the plan is not back`);
  faults.check((await page.locator("#knob-density").inputValue()) !== "", `${name}: back to the plan leaves a field empty`);
  // Typed one after the other, with the focus kept.
  await page.focus("#knob-copies");
  await page.keyboard.press("End");
  await page.keyboard.type("12");
  faults.check((await page.evaluate(() => document.activeElement.id)) === "knob-copies", `${name}: typing loses the focus`);
  await page.click("#knob-back");
  // Units: the other system comes first, and the figures stay.
  await page.click("#units-us");
  faults.check(/lb\/ft/.test(await text(page, "label[for=knob-density]")), `${name}: US first does not reach the knobs`);
  faults.check((await total()) === before, `${name}: units change the grams`);
  faults.check((await page.evaluate(() => document.activeElement.id)) === "units-us", `${name}: choosing units loses the focus`);
  await usThroughout(page, name);
  await page.click("#units-metric");
}

// US first: no quantity is left in metric alone, reasons, findings and places included; drills as fractions.
async function usThroughout(page, name) {
  const alone = /(?:^|[^(\d.])(-?[\d.]+) (mm|cm\u00b2|cm\u00b3|kg\/m\u00b3|g\/m\u00b2|kPa|\u00b0C)(?![\w)])/;
  for (const selector of [".facts", ".about", ".holes", ".thin-list", "#clock", ".legend", "#head", ".guesses"]) {
    for (const words of await page.locator(selector).allInnerTexts()) {
      // Places by ruler stand as the program words them.
      const found = words.replaceAll(/[\d.]+ (to [\d.]+ )?mm from|last [\d.]+ mm/g, "").match(alone);
      faults.check(found === null, `${name}: US first leaves "${found?.[0]}" in ${selector}`);
    }
  }
  for (const drill of await page.locator(".holes tbody td:nth-child(3)").allInnerTexts()) {
    faults.check(drill === "" || /^(\d+ )?\d+\/(2|4|8|16|32|64) in \([\d.]+ mm\)$/.test(drill), `${name}: "${drill}" is no drill as sold in inches`);
  }
}

// Started, it says what to do now and what comes then; stopped, it starts again from 0.
async function runningClock(context, file, data, name) {
  const page = await opened(context, file, faults);
  const first = data.plan.bench.methods.find((one) => one.method === data.plan.bench.method).steps[0];
  await page.clock.install({ time: new Date("2026-01-01T12:00:00") });
  await page.click("#clock-start");
  await page.clock.runFor(1000 * Math.floor(first.end_s / 2));
  const shown = () => text(page, ".running .seconds");
  faults.check(Math.abs(Number.parseInt(await shown(), 10) - Math.floor(first.end_s / 2)) <= 1, `${name}: the clock shows ${await shown()}`);
  faults.check((await text(page, ".running .do strong")) === first.name, `${name}: it says "${await text(page, ".running .do")}" while one has to ${first.name}`);
  faults.check((await page.locator(".time-line li.on .doing").allInnerTexts()).join() === first.name, `${name}: the time line does not mark the step to do`);
  await page.uncheck("#clock-sound");
  // As a lid that is closed and opened again: what is due comes once. Running through it frame by frame takes minutes.
  await page.clock.fastForward(1000 * data.plan.bench.demold_min_s);
  await page.clock.runFor(2000);
  faults.check(/open it/.test(await text(page, ".running .do")), `${name}: at the end it does not say to open: ${await text(page, ".running .do")}`);
  await page.click("#clock-stop");
  faults.check(/^0/.test(await shown()), `${name}: stopped, it shows ${await shown()}`);
  await page.click("#clock-start");
  await page.clock.runFor(2000);
  faults.check(/^[123]/.test(await shown()), `${name}: started again, it shows ${await shown()}`);
  await page.click("#clock-stop");
}

// The slider shows the rise at its time: on the part, in figures of the plan, and by keyboard alone.
async function risePlays(page, data, name) {
  const { rising, plan } = data;
  await page.locator(".ways button").nth(data.ways.findIndex((way) => way.planned)).click();
  const slider = page.locator("#rise-at");
  const now = () => text(page, ".rise-now");
  const to = (time) => slider.evaluate((element, at) => {
    element.value = at;
    element.dispatchEvent(new Event("input", { bubbles: true }));
  }, time);
  const filled = async () => Number((await now()).match(/(\d+) % of the mold/)?.[1]);
  await to(rising.from_s);
  await page.waitForTimeout(100);
  const early = await canvasPixels(page);
  faults.check(await page.getByLabel("When foam arrives").isChecked(), `${name}: the slider does not show when foam arrives`);
  // At the moments that were followed the share is the plan's own, rounded down.
  for (const moment of [plan.rise.moments[0], plan.rise.moments[Math.floor(plan.rise.moments.length / 2)]]) {
    await to(moment.time_s);
    const shown = await slider.evaluate((element) => element.valueAsNumber);
    faults.check(Math.abs(shown - moment.time_s) <= 0.5, `${name}: the slider stands at ${shown}, not at ${moment.time_s}`);
    faults.check(Math.abs((await filled()) - 100 * moment.filled_share) <= 3, `${name}: at ${moment.time_s} s it says "${await now()}", the plan ${moment.filled_share}`);
  }
  faults.check((await page.locator(".stage .mark.late").count()) === Math.min(3, plan.rise.last_filled.length), `${name}: the last places are not marked`);
  faults.check((await page.locator(".stage .mark.air").count()) === Math.min(3, plan.rise.sealed_air.length), `${name}: air that is cut off is not marked`);
  await slider.focus();
  const before = await slider.inputValue();
  await page.keyboard.press("ArrowRight");
  faults.check(Number(await slider.inputValue()) > Number(before), `${name}: an arrow key does not move the time`);
  faults.check(/seconds, \d+ % filled/.test(await slider.getAttribute("aria-valuetext")), `${name}: the slider does not say what it shows`);
  const until = (what, wanted, ...more) => page.waitForFunction(wanted, more, { timeout: 20000 }).catch(() => faults.check(false, `${name}: ${what}`));
  const pressed = ([state]) => document.getElementById("rise-play").getAttribute("aria-pressed") === state;
  await page.keyboard.press("End");
  await until("End does not go to the end", ([end]) => document.getElementById("rise-at").valueAsNumber > end - 0.51, rising.to_s);
  await page.keyboard.press("Space");
  await until("from the end it does not play anew", ([middle]) => document.getElementById("rise-at").valueAsNumber < middle, 0.5 * (rising.from_s + rising.to_s));
  await until("the space bar does not play it", pressed, "true");
  await page.keyboard.press("Space");
  await until("the space bar does not stop it", pressed, "false");
  // Without motion it goes in a dozen steps, and to the end.
  await page.emulateMedia({ reducedMotion: "reduce" });
  await to(rising.from_s);
  // The slider's own steps may put the beginning beside it.
  const begun = await page.evaluate(() => document.getElementById("rise-at").valueAsNumber);
  await page.evaluate(() => {
    window.shownTimes = [];
    window.watching = new MutationObserver(() => window.shownTimes.push(Number.parseFloat(document.querySelector(".rise-now").textContent)));
    window.watching.observe(document.querySelector(".rise-now"), { characterData: true, subtree: true, childList: true });
  });
  await page.click("#rise-play");
  await until("without motion it does not go on", () => new Set(window.shownTimes).size >= 2);
  await page.click("#rise-play");
  const times = await page.evaluate(() => {
    window.watching.disconnect();
    return window.shownTimes;
  });
  const twelfth = (rising.to_s - rising.from_s) / 12;
  const uneven = times.filter((time) => Math.abs((time - begun) / twelfth - Math.round((time - begun) / twelfth)) > 0.51 / twelfth);
  faults.check(uneven.length === 0, `${name}: it moves although no motion is wanted: ${times}`);
  await page.emulateMedia({ reducedMotion: null });
  await to(rising.to_s);
  await page.waitForTimeout(100);
  faults.check(Math.abs((await filled()) - 100 * plan.rise.filled_share) <= 1.01, `${name}: at the end it says "${await now()}", the plan ${plan.rise.filled_share}`);
  faults.check((await canvasPixels(page)) !== early, `${name}: the part looks the same before and after the rise`);
}

// A way up that is looked at: its holes stand in the table and in 3D, and what is planned for another says so.
async function waysAgree(page, data, name) {
  for (const [i, way] of data.ways.entries()) {
    await page.locator(".ways button").nth(i).click();
    const table = (await page.locator(".holes tbody th").allInnerTexts()).join();
    const marks = (await page.locator(".stage .mark.pour_hole, .stage .mark.vent").allInnerTexts()).join();
    faults.check(table === marks, `${name}: way up ${way.name}: the table has ${table}, the part ${marks}`);
    faults.check(table === (way.planned ? data.marks : way.marks).map((mark) => mark.label).join(), `${name}: way up ${way.name}: the table has ${table}`);
    faults.check(way.planned || /Only looked at/.test(await text(page, ".holes")), `${name}: way up ${way.name} passes for the planned one`);
  }
  await page.locator(".ways button").nth(data.ways.findIndex((way) => way.planned)).click();
}

// A stop takes the grams off page and card; why, and what would do, stands in their place.
async function stops(page, name) {
  const cases = [
    [{ density: "90", temperature: "18" }, /does not fill the mold; give at least that density/],
    [{ density: "150", temperature: "37" }, /does not work out: .* too late; .*take a slower foam, or cool the liquids/],
    [{ density: "175", temperature: "18", scale: "40" }, /On a scale that shows 40 g .* off; use one that shows/],
  ];
  for (const [figures, why] of cases) {
    for (const [knob, value] of Object.entries(figures)) await page.fill(`#knob-${knob}`, value);
    const said = (await page.locator(".stopped").count()) === 1 ? await text(page, ".stopped") : "";
    faults.check(why.test(said), `${name}: stopped by "${said}", not by ${why}`);
    faults.check((await page.locator(".weights, .window").count()) === 0, `${name}: stopped, and grams are shown`);
    const facts = await text(page, ".facts");
    faults.check(!/\d g\b/.test(facts), `${name}: stopped, and the facts have grams: ${facts}`);
    faults.check(why.test(await text(page, ".now")), `${name}: beside the knobs nothing is said of the stop`);
    const card = await page.locator("#card").evaluate((element) => element.textContent);
    faults.check(why.test(card), `${name}: the card does not say why it stops`);
    faults.check(!/Weigh [AB]|fills from|part \d/.test(card), `${name}: stopped, and the card has grams`);
    faults.check(/Stop: /.test(await text(page, ".findings")), `${name}: the stop is not among the notices`);
  }
  await page.fill("#knob-scale", "0.1");
  faults.check((await page.locator(".weights").count()) === 1, `${name}: the grams do not come back`);
}

// The card: mix, window, deadlines, drills, version; steps in order of time.
async function cardTells(page, data, name) {
  const card = await page.locator("#card").evaluate((element) => element.textContent);
  const { window: w, foam } = data.plan;
  for (const [what, pattern] of [
    ["the mix", new RegExp(`mix ${Number(foam.mix_a.toPrecision(4))}:100`)],
    ["the window", /fills from.*planned.*presses too hard over/],
    ["straps", new RegExp(`straps for ${Math.floor(w.strap_for_kpa / 10)}`)],
    ["deadlines", /poured by \d+ s/],
    ["what becomes of the pour hole", /as the topmost vent|it is a vent too|plugged after the pour|No pour hole/],
    ["a drill", /drill .*mm/],
    ["its foam", new RegExp(foam.card.replaceAll(/[.*+?^${}()|[\]\\]/g, "\\$&"))],
    ["the plan's date and version", new RegExp(`Plan of \\d{4}-\\d\\d-\\d\\d by cavigram ${data.plan.program.version.replaceAll(".", "\\.")}`)],
  ]) {
    faults.check(pattern.test(card), `${name}: the card does not tell ${what}`);
  }
  for (const finding of data.plan.findings.filter((f) => f.severity === "warning")) {
    faults.check(bare(card).includes(finding.text), `${name}: the card leaves out a warning: ${finding.text}`);
  }
  const tags = await page.locator("#card .tag-print").evaluateAll((all) => all.map((tag) => tag.textContent));
  const order = tags.map((tag) => (/min$/.test(tag) ? 60 : 1) * Number.parseFloat(tag)).filter((s) => !Number.isNaN(s));
  faults.check(order.length >= 6 && order.every((s, i) => i === 0 || s >= order[i - 1]), `${name}: the card's steps are not in order of time: ${tags}`);
}

// The other side: what is built, cut and strapped, where the line runs, and the part in the hand, in the summary's own words.
async function backTells(page, data, summary, name) {
  const rows = await page.locator("#card-back .row").evaluateAll((all) => all.map((row) => [row.querySelector("dt").textContent, row.querySelector("dd").textContent]));
  const labels = rows.map(([label]) => label);
  for (const label of ["Pull", "Line", "Halves", "Mold", "Rubber", "Straps", "Lift", "In hand"]) {
    faults.check(labels.includes(label), `${name}: the card's back does not tell: ${label}`);
  }
  const { mold } = data.plan;
  const boards = rows.filter(([, words]) => /^\d+ x /.test(words)).length;
  faults.check(boards === (mold.boards ?? []).length, `${name}: the card's back has ${boards} of ${mold.boards?.length} boards`);
  faults.check(rows.some(([label, words]) => label === "Straps" && words.startsWith(mold.straps > 0 ? `${mold.straps} around` : "none")), `${name}: the card's back counts other straps than ${mold.straps}`);
  for (const [label, words] of rows) faults.check(summary.includes(bare(words).replace(/\s+/g, " ").replace(/:$/, "").trim()), `${name}: "${label} ${words}" is not in the summary`);
}

async function keyboardOnly(page, name) {
  await page.locator("canvas").focus();
  const before = await canvasPixels(page);
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("+");
  await page.waitForTimeout(200);
  faults.check((await canvasPixels(page)) !== before, `${name}: arrow keys do not turn the part`);
  // Tab reaches every control that is not disabled.
  await page.locator("body").evaluate((body) => body.ownerDocument.activeElement?.blur());
  const wanted = await page.evaluate(() => {
    const all = [...document.querySelectorAll("a[href], button, input, canvas[tabindex]")].filter((e) => !e.disabled && e.tabIndex >= 0);
    // Of a group of radios Tab reaches the chosen one; the arrows reach the others.
    return all.filter((e) => e.type !== "radio" || e.checked).length;
  });
  const reached = new Set();
  for (let i = 0; i < wanted + 3; ++i) {
    await page.keyboard.press("Tab");
    reached.add(await page.evaluate(() => {
      const all = [...document.querySelectorAll("*")];
      return all.indexOf(document.activeElement);
    }));
  }
  faults.check(reached.size >= wanted, `${name}: Tab reaches ${reached.size} of ${wanted} controls`);
}

async function accessible(page, name) {
  await page.evaluate(axeSource);
  const result = await page.evaluate(() => axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] }));
  for (const one of result.violations) {
    if (["serious", "critical"].includes(one.impact)) {
      faults.check(false, `${name}: ${one.id} (${one.impact}) at ${one.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")}`);
    }
  }
  faults.check(result.passes.length > 15, `${name}: axe looked at ${result.passes.length} rules only`);
}

async function printed(page, name) {
  for (const format of ["A4", "Letter"]) {
    const pdf = (await page.pdf({ format, printBackground: false })).toString("latin1");
    const pages = (pdf.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
    faults.check(pages === 2, `${name}: the card's two sides print as ${pages} pages of ${format}`);
  }
  await page.emulateMedia({ media: "print" });
  const cuts = await page.evaluate(() => ["card", "card-back"].map((id) => {
    const card = document.getElementById(id);
    const end = card.getBoundingClientRect().bottom;
    return Math.max(card.scrollHeight - card.clientHeight, ...[...card.children].map((one) => one.getBoundingClientRect().bottom - end));
  }));
  const squeezed = await page.evaluate(() => [...document.querySelectorAll("#card > *, #card-back > *")].filter((one) => one.scrollHeight > one.clientHeight + 2 && getComputedStyle(one).overflow !== "visible").map((one) => one.tagName));
  faults.check(squeezed.length === 0, `${name}: cut within the card: ${squeezed}`);
  faults.check(Math.max(...cuts) <= 1, `${name}: ${cuts} pixels of the card's sides are cut off`);
  await page.emulateMedia({ media: null });
}

async function wide(page, name) {
  for (const width of [360, 768, 1280, 1920]) {
    await page.setViewportSize({ width, height: 900 });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    faults.check(over <= 0, `${name}: at ${width} pixels the page is ${over} too wide`);
  }
  await page.setViewportSize({ width: 1280, height: 900 });
}

// A file and a card whose names are markup must be shown as text and do nothing.
async function malicious(context) {
  const evil = '<img src=x onerror="document.title=1"><script>alert(1)<\u002fscript>'.replace("/", "\u2215");
  const mesh = join(folder, `${evil}.stl`);
  copyFileSync(join(project, "sample_meshes/mooring_cleat.stl"), mesh);
  const card = join(folder, "evil.toml");
  const shown = run(program, ["foams", "show", "generic-firm"]).stdout;
  const cardName = "</script><script>alert(2)</script>@SHEET_DATA@&lt;";
  writeFileSync(card, shown.replace(/^name = .*$/m, `name = '${cardName}'`));
  const out = join(folder, "evil_plan");
  planned(program, [mesh, "--units", "mm", "--foam", card, "--out", out]);
  const file = join(out, "pour_sheet.html");
  const page = await opened(context, file, faults);
  faults.check((await text(page, "h1 >> nth=0")) === `${evil}.stl`, `the file's name is not shown as it is: ${await text(page, "h1 >> nth=0")}`);
  faults.check((await text(page, ".facts")).includes(cardName), "the card's name is not shown as it is");
  faults.check((await page.locator("img[src=x]").count()) === 0, "a name became an element");
  faults.check((await page.title()) === `Pour sheet: ${evil}.stl`, `the title is ${await page.title()}`);
  await page.close();
}

// What the policy forbids does not run, even when something in the page tries.
async function strictPolicy(context, file) {
  const page = await context.newPage();
  await page.goto(`file://${file}`);
  await page.waitForSelector("body[data-ready]");
  const ran = await page.evaluate(async () => {
    const script = document.createElement("script");
    script.textContent = "window.ranInline = true";
    document.body.append(script);
    let fetched = true;
    try {
      await fetch("http://127.0.0.1:9/");
    } catch {
      fetched = false;
    }
    return { inline: window.ranInline === true, fetched };
  });
  faults.check(!ran.inline, "a script that was not in the page ran");
  faults.check(!ran.fetched, "the page could fetch");
  await page.close();
}

async function withoutWebgl(file) {
  const flat = await browser(["--disable-gpu", "--disable-3d-apis"]);
  const page = await opened(await flat.newContext(), file, { check: () => {} });
  faults.check((await page.locator(".stage.flat img").count()) === 3, "without WebGL the pictures are missing");
  const shown = await page.locator(".stage.flat img").evaluateAll((all) => all.every((i) => i.complete && i.naturalWidth > 100 && i.alt.length > 10));
  faults.check(shown, "a picture does not load, or has no words");
  faults.check(/not played/.test(await text(page, ".model .hint")), "without WebGL nothing is said of the rise");
  faults.check((await page.locator("#rise-at").count()) === 0, "without WebGL a slider moves nothing");
  await flat.close();
}

function annotatedGlb(files) {
  const validator = join(reference, "gltf-validator", "index.js");
  faults.check(existsSync(validator), `the validator is missing: ${validator}`);
  const result = run("node", [join(project, "tests/io/validate_glb.js"), join(reference, "gltf-validator"), ...files]);
  faults.check(result.status === 0, `the Khronos validator complains: ${result.stdout}`);
}

async function samplesInBrowser(chromium) {
  const files = [];
  for (const [mesh, ...options] of samples) {
    const out = join(folder, mesh);
    planned(program, [join(project, "sample_meshes", mesh), ...options, "--out", out]);
    const file = join(out, "pour_sheet.html");
    files.push(file);
    faults.check(statSync(file).size < 8e6, `${mesh}: the sheet has ${statSync(file).size} bytes`);
    const data = sheetData(file);
    const plan = JSON.parse(readFileSync(join(out, "plan.json"), "utf8"));
    faults.check(JSON.stringify(data.plan) === JSON.stringify(plan), `${mesh}: the page holds another plan than plan.json`);
    const summary = readFileSync(join(out, "summary.txt"), "utf8").replace(/\s+/g, " ");
    for (const colorScheme of ["light", "dark"]) {
      const context = await chromium.newContext({ viewport: { width: 1280, height: 900 }, colorScheme, offline: true });
      const page = await opened(context, file, faults);
      const name = `${mesh}, ${colorScheme}`;
      await numbersAgree(page, data, summary, name);
      await timeLine(page, summary, name);
      await guessesOnce(page, data, name);
      await cardTells(page, data, name);
      await backTells(page, data, summary, name);
      await accessible(page, name);
      if (colorScheme === "light") {
        await everyControl(page, name);
        await risePlays(page, data, name);
        await waysAgree(page, data, name);
        await knobs(page, data, name);
        await keyboardOnly(page, name);
        await printed(page, name);
      }
      await wide(page, name);
      if (mesh === samples[0][0]) await runningClock(context, file, data, name);
      await context.close();
    }
  }
  return files;
}

const chromium = await browser();
try {
  const files = await samplesInBrowser(chromium);
  const context = await chromium.newContext();
  await malicious(context);
  await strictPolicy(context, files[0]);
  await withoutWebgl(files[0]);
  annotatedGlb(samples.flatMap(([mesh]) => [join(folder, mesh, "annotated.glb")]));
} finally {
  await chromium.close();
  rmSync(folder, { recursive: true });
}
faults.end();
