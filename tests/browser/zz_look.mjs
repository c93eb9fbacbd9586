import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { browser } from "./sheet.mjs";
const [program, out, ...files] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "look_"));
mkdirSync(join(folder, "temp"));
const server = spawn(program, ["serve", "--no-browser", "--tally", join(folder, "shop.db")], { env: { ...process.env, TMPDIR: join(folder, "temp"), XDG_DATA_HOME: join(folder, "data") } });
const address = await new Promise((r) => { let s = ""; server.stdout.on("data", (d) => { s += d; const m = s.match(/http:\S+key=[0-9a-f]+/); if (m) r(m[0]); }); });
const chrome = await browser();
const tab = await (await chrome.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
tab.on("console", (m) => console.log(m.text()));
tab.on("pageerror", (m) => console.log("ERR", m.message));
await tab.goto(address);
await tab.setInputFiles("input[type=file]", files);
await tab.waitForSelector(".log", { timeout: 200000 });
await tab.waitForTimeout(1500);
const masses = [22.3, 22.9, 24.1, 21.8, 40];
const id = await tab.evaluate(() => location.hash.slice(1));
const plan = await tab.evaluate(async (id) => (await fetch(`/api/parts/${id}/grams.json`)).json(), id);
const base = plan.batch.part_a_g + plan.batch.part_b_g;
for (const id of await tab.evaluate(async () => (await (await fetch("/api/parts")).json()).map((p) => p.id))) {
  const p = await tab.evaluate(async (id) => (await fetch(`/api/parts/${id}/grams.json`)).json(), id).catch(() => null);
  const m = p?.window?.planned_g; if (!m) continue;
  for (const f of [0.95, 1.0, 1.03, id.charCodeAt(0) % 3 === 0 ? 1.3 : 0.99]) await tab.evaluate(async ([id, m]) => (await fetch(`/api/tally/castings?part=${id}`, { method: "POST", body: JSON.stringify({ "part-mass": [`${m.toFixed(3)}g`], yes: ["true"] }) })).text(), [id, m * f]).then(console.log);
}
await tab.fill("#weighed-part-mass", "9999 g");
await tab.getByRole("button", { name: "Log it" }).click();
await tab.waitForTimeout(3000);
await tab.getByRole("button", { name: "Correct casting 1" }).click();
await tab.waitForTimeout(500);
await tab.screenshot({ path: join(out, "all.png"), fullPage: true });
for (const s of ["faults", "several", "log", "tally", "size"]) { const l = tab.locator(`.panel.${s}`); if (await l.count()) await l.screenshot({ path: join(out, s + ".png") }); }
await tab.locator("details.recent").evaluate((d) => (d.open = true));
await tab.evaluate(() => scrollTo(0, 0));
await tab.screenshot({ path: join(out, "top.png") });
server.kill("SIGINT"); await chrome.close(); process.exit(0);
