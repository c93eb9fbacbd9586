// SPDX-License-Identifier: GPL-3.0-or-later
// How long it takes on the page of `cavigram serve` from a turn of the part by the mouse to the new air and vents on the screen: the page's
// own events, the server's answer, and two pictures after it was drawn. Run by hand; nothing is asserted.
//
//   node turn_bench.mjs PROGRAM PROJECT_FOLDER [TURNS]
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { serving, watchedPage, whole } from "../browser/serving.mjs";
import { Faults, browser, seeded } from "../browser/sheet.mjs";

const [program, project, count = "200"] = process.argv.slice(2);
const turns = Number(count);
const folder = mkdtempSync(join(tmpdir(), "cavigram_turn_bench_"));
const faults = new Faults();

// A ring with bumps, of 2 n m triangles, as binary STL.
function bumpyRing(n, m) {
  const at = (i, j) => {
    const [u, v] = [(2 * Math.PI * (i % n)) / n, (2 * Math.PI * (j % m)) / m];
    const r = 30 * (1 + 0.08 * Math.sin(7 * u) * Math.cos(3 * v));
    return [(90 + r * Math.cos(v)) * Math.cos(u), (90 + r * Math.cos(v)) * Math.sin(u), r * Math.sin(v)];
  };
  const bytes = Buffer.alloc(84 + 100 * n * m);
  bytes.writeUInt32LE(2 * n * m, 80);
  let to = 84;
  const put = (corners) => {
    corners.flat().forEach((x, k) => bytes.writeFloatLE(x, to + 12 + 4 * k));
    to += 50;
  };
  for (let i = 0; i < n; ++i) {
    for (let j = 0; j < m; ++j) {
      const [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
      put([a, b, c]);
      put([a, c, d]);
    }
  }
  return bytes;
}

// One turn in the page: a drag from the stage's middle, and the time until what it shows has changed and was on the screen.
function turned([x, y]) {
  const canvas = document.querySelector(".turning .stage canvas");
  const box = canvas.getBoundingClientRect();
  const [u, v] = [box.left + box.width / 2, box.top + box.height / 2];
  const drag = (type, right, down) => canvas.dispatchEvent(new PointerEvent(type, { pointerId: 1, clientX: u + right, clientY: v + down, bubbles: true }));
  canvas.setPointerCapture = () => {};
  return new Promise((resolve) => {
    const start = performance.now();
    const before = canvas.dataset.drawn;
    const seen = new MutationObserver(() => {
      if (canvas.dataset.drawn === before) return;
      seen.disconnect();
      requestAnimationFrame(() => requestAnimationFrame(() => resolve(performance.now() - start)));
    });
    seen.observe(canvas, { attributes: true, attributeFilter: ["data-drawn"] });
    drag("pointerdown", 0, 0);
    drag("pointermove", x, y);
    drag("pointerup", x, y);
  });
}

const server = await serving(program, folder);
const chrome = await browser();
const tab = await watchedPage(await chrome.newContext({ viewport: { width: 1280, height: 900 } }), server, faults);
const renderer = await tab.evaluate(() => {
  const gl = document.createElement("canvas").getContext("webgl2");
  const names = gl.getExtension("WEBGL_debug_renderer_info");
  return gl.getParameter(names ? names.UNMASKED_RENDERER_WEBGL : gl.RENDERER);
});
console.log(`${renderer}; ${cpus().length} x ${cpus()[0].model}; load ${loadavg()[0].toFixed(1)}`);
const ring = join(folder, "ring.stl");
writeFileSync(ring, bumpyRing(912, 456));
for (const file of [join(project, "sample_meshes/figurehead_scan.obj"), ring]) {
  const name = file.split("/").pop();
  await tab.setInputFiles("input[type=file]", file);
  await tab.waitForFunction((one) => document.querySelector("h1").textContent === one, name);
  await tab.waitForSelector(".size");
  const unit = tab.getByRole("button", { name: /^in mm/ });
  if (await unit.count()) await unit.click();
  await whole(tab);
  await tab.waitForFunction(() => document.querySelector(".turning .stage canvas")?.dataset.drawn, null, { timeout: 60000 });
  const triangles = await tab.evaluate(async (id) => (await (await fetch(`/api/parts/${id}/plan.json`)).json()).input.triangles, new URL(tab.url()).hash.slice(1));
  const { between } = seeded(17);
  const times = [];
  for (let i = 0; i < turns; ++i) times.push(await tab.evaluate(turned, [between(-200, 200), (i % 2 === 0 ? 1 : -1) * between(40, 300)]));
  times.sort((a, b) => a - b);
  const at = (share) => times[Math.min(times.length - 1, Math.floor(share * times.length))].toFixed(0);
  const memory = spawnSync("grep", ["VmHWM", `/proc/${server.process.pid}/status`], { encoding: "utf8" }).stdout.trim().replace(/\s+/g, " ");
  console.log(`${name}, ${triangles} triangles: ${turns} turns, median ${at(0.5)} ms, 95th percentile ${at(0.95)} ms, longest ${at(1)} ms; server ${memory}`);
}
await chrome.close();
await server.end();
rmSync(folder, { recursive: true, force: true });
