// SPDX-License-Identifier: GPL-3.0-or-later
// A part of 832,000 triangles: the sheet stays small, and opens. Times are told, not judged.
//
//   node large_part_test.mjs PROGRAM
import { mkdtempSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Faults, browser, opened, planned, sheetData } from "./sheet.mjs";

const SEGMENTS = 912;
const [program] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_large_"));
const faults = new Faults();

// A torus with a wave on it, as binary STL: 2 * 912 * 456 triangles.
function wavyTorus() {
  const around = SEGMENTS;
  const along = SEGMENTS / 2;
  const at = (i, j) => {
    const u = (2 * Math.PI * (i % around)) / around;
    const v = (2 * Math.PI * (j % along)) / along;
    const r = 15 + 2 * Math.sin(5 * u) * Math.cos(3 * v);
    const ring = 50 + r * Math.cos(v);
    return [ring * Math.cos(u), ring * Math.sin(u), r * Math.sin(v)];
  };
  const bytes = Buffer.alloc(84 + 50 * 2 * around * along);
  bytes.writeUInt32LE(2 * around * along, 80);
  let offset = 84;
  const put = (...points) => {
    points.flat().forEach((c, k) => bytes.writeFloatLE(c, offset + 12 + 4 * k));
    offset += 50;
  };
  for (let i = 0; i < around; ++i) {
    for (let j = 0; j < along; ++j) {
      put(at(i, j), at(i + 1, j), at(i + 1, j + 1));
      put(at(i, j), at(i + 1, j + 1), at(i, j + 1));
    }
  }
  return bytes;
}

try {
  const mesh = join(folder, "torus.stl");
  writeFileSync(mesh, wavyTorus());
  const out = join(folder, "plan");
  const start = Date.now();
  planned(program, [mesh, "--units", "mm", "--out", out]);
  console.log(`planned in ${((Date.now() - start) / 1000).toFixed(1)} s`);
  const file = join(out, "pour_sheet.html");
  const size = statSync(file).size;
  console.log(`the sheet has ${(size / 1e6).toFixed(2)} MB and shows ${sheetData(file).display.triangles} triangles`);
  faults.check(size < 8e6, `the sheet has ${size} bytes`);
  const chromium = await browser();
  const opening = Date.now();
  const page = await opened(await chromium.newContext({ offline: true }), file, faults);
  faults.check((await page.locator(".weights, .stopped").count()) === 1, "the sheet shows neither grams nor why not");
  await page.locator("canvas").focus();
  await page.keyboard.press("ArrowLeft");
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  console.log(`open and turned once in ${((Date.now() - opening) / 1000).toFixed(1)} s`);
  await chromium.close();
} finally {
  rmSync(folder, { recursive: true });
}
faults.end();
