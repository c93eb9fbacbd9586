// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the page of `cavigram serve` share: the server, the page, parts, what is looked for everywhere.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// The real server; its temporary files lie in `temp`.
function started(program, temp) {
  const server = spawn(program, ["serve", "--no-browser"], { env: { ...process.env, TMPDIR: temp } });
  return new Promise((resolve, reject) => {
    let said = "";
    server.stdout.on("data", (data) => {
      said += data;
      const address = said.match(/http:\S+key=[0-9a-f]+/);
      if (address) resolve({ server, address: address[0], origin: new URL(address[0]).origin });
    });
    server.on("exit", () => reject(new Error(`the server ended: ${said}`)));
  });
}

// A cube or box of so many mm as text STL.
export function box(x, y = x, z = x) {
  const v = [...Array(8).keys()].map((i) => [(i & 1) * x, ((i >> 1) & 1) * y, ((i >> 2) & 1) * z]);
  const faces = [[0, 2, 3], [0, 3, 1], [4, 5, 7], [4, 7, 6], [0, 1, 5], [0, 5, 4], [2, 6, 7], [2, 7, 3], [0, 4, 6], [0, 6, 2], [1, 3, 7], [1, 7, 5]];
  const facet = (face) => `facet normal 0 0 0\nouter loop\n${face.map((i) => `vertex ${v[i].join(" ")}`).join("\n")}\nendloop\nendfacet`;
  return `solid box\n${faces.map(facet).join("\n")}\nendsolid box\n`;
}

// The page; whatever it complains of or asks the network for is a fault.
async function page(context, address, origin, faults) {
  const opened = await context.newPage();
  opened.on("console", (message) => {
    if (/GPU stall due to ReadPixels/.test(message.text())) return;
    // Where there is no 3D, three.js says so before the page does.
    if (/WebGL context/.test(message.text())) return;
    // Refusals are answers; the browser tells of each.
    if (/status of (409|422)/.test(message.text())) return;
    faults.check(!["error", "warning"].includes(message.type()), `console: ${message.text()}`);
  });
  opened.on("pageerror", (error) => faults.check(false, `script error: ${error.message}`));
  opened.on("dialog", (dialog) => {
    faults.check(false, `a dialog opened: ${dialog.message()}`);
    dialog.dismiss();
  });
  opened.on("request", (request) => {
    const url = request.url();
    faults.check(url.startsWith(origin + "/") || /^(blob|data):/.test(url), `asked the network for ${url}`);
  });
  await opened.goto(address);
  await opened.waitForSelector(".drop");
  return opened;
}

async function accessible(at, name, faults) {
  await at.evaluate(axeSource);
  const found = await at.evaluate(() => axe.run({ iframes: false }).then((r) => r.violations.map((v) => ({ id: v.id, impact: v.impact, nodes: v.nodes.map((n) => n.html).slice(0, 3) }))));
  for (const one of found) faults.check(!["serious", "critical"].includes(one.impact), `${name}: axe: ${JSON.stringify(one)}`);
  faults.check(await at.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name}: wider than the window`);
}

export const whole = (at) => at.waitForSelector(".sheet:not(.stale) iframe", { timeout: 240000 });
export const chosen = (at) => at.evaluate(() => location.hash.slice(1));

// For one server program, one place for its temporary files, one count of faults.
export function helpers(program, temp, faults) {
  return {
    started: () => started(program, temp),
    page: (context, address, origin) => page(context, address, origin, faults),
    accessible: (at, name) => accessible(at, name, faults),
  };
}
