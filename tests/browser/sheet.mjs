// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the pour sheet share: running the program, opening a sheet, counting faults.
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export class Faults {
  count = 0;
  checks = 0;

  check(good, text) {
    ++this.checks;
    if (good) return;
    ++this.count;
    console.log(`FAULT: ${text}`);
  }

  end() {
    console.log(`${this.checks} checks, ${this.count} faults`);
    process.exit(this.count > 0 || this.checks === 0 ? 1 : 0);
  }
}

export function run(program, args, options = {}) {
  return spawnSync(program, args, { encoding: "utf8", maxBuffer: 1 << 28, ...options });
}

export function planned(program, args) {
  const result = run(program, ["plan", ...args, "--quiet"]);
  if (![0, 1].includes(result.status)) throw new Error(`plan ${args.join(" ")}: ${result.stderr}`);
}

// mulberry32: small, and the same on every machine.
export function seeded(state) {
  const random = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return { random, between: (low, high) => low + (high - low) * random(), oneOf: (list) => list[Math.floor(random() * list.length)] };
}

// A module of the page's own, bundled for node.
export async function pageModule(pageFolder, folder, name, sources = join(pageFolder, "src")) {
  const { build } = await import(pathToFileURL(createRequire(join(pageFolder, "x.js")).resolve("esbuild")).href);
  const out = join(folder, `${name}.mjs`);
  await build({ entryPoints: [join(sources, name.includes(".") ? name : `${name}.ts`)], bundle: true, format: "esm", outfile: out, nodePaths: [join(pageFolder, "node_modules")], jsx: "automatic", jsxImportSource: "preact", logLevel: "error" });
  return import(pathToFileURL(out).href);
}

// The data that the program left in a sheet.
export function sheetData(file) {
  const html = readFileSync(file, "utf8");
  const match = html.match(/<script type="application\/json" id="sheet-data">(.*?)<\/script>/s);
  return JSON.parse(match[1]);
}

// Debian's Chromium; its software renderer draws WebGL where there is no graphics card.
export function browser(more = []) {
  const executablePath = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find(existsSync);
  if (!executablePath) throw new Error("chromium is missing; tools/dev/install.sh test installs it");
  const quiet = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
  const drawing = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
  return chromium.launch({ executablePath, args: [...quiet, ...(more.length > 0 ? more : drawing)] });
}

// Opens a sheet from the disk; whatever the page complains of or asks the network for is a fault.
export async function opened(context, file, faults) {
  const page = await context.newPage();
  page.on("console", (message) => {
    // The software renderer tells that reading pixels back is slow: no fault of the page.
    if (/GPU stall due to ReadPixels/.test(message.text())) return;
    faults.check(!["error", "warning"].includes(message.type()), `console: ${message.text()}`);
  });
  page.on("pageerror", (error) => faults.check(false, `script error: ${error.message}`));
  page.on("dialog", (dialog) => {
    faults.check(false, `a dialog opened: ${dialog.message()}`);
    dialog.dismiss();
  });
  page.on("request", (request) => {
    const url = request.url();
    faults.check(/^(file|blob|data):/.test(url), `asked the network for ${url}`);
  });
  await page.goto(pathToFileURL(file).href);
  await page.waitForSelector("body[data-ready]", { state: "attached", timeout: 60000 });
  return page;
}
