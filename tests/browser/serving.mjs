// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of `cavigram serve` share: a server of their own, a page that is watched, small meshes.
import { spawn } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// Its files lie in `folder`: temp, data. Ends with `end`, which gives its status.
export async function serving(program, folder, ...options) {
  const temp = join(folder, "temp");
  mkdirSync(temp, { recursive: true });
  const server = spawn(program, ["serve", "--no-browser", ...options], { env: { ...process.env, TMPDIR: temp, XDG_DATA_HOME: join(folder, "data") } });
  const ended = new Promise((resolve) => server.on("exit", resolve));
  const address = await new Promise((resolve, reject) => {
    let said = "";
    server.stdout.on("data", (data) => {
      said += data;
      const found = said.match(/http:\S+key=[0-9a-f]+/);
      if (found) resolve(found[0]);
    });
    ended.then(() => reject(new Error(`the server ended: ${said}`)));
  });
  return {
    address,
    origin: new URL(address).origin,
    temp,
    process: server,
    end: (signal = "SIGINT") => {
      server.kill(signal);
      return ended;
    },
  };
}

// A page on which nothing may go wrong unseen.
export async function watchedPage(context, server, faults, address = server.address) {
  const opened = await context.newPage();
  opened.on("console", (message) => {
    if (/GPU stall due to ReadPixels/.test(message.text())) return;
    // Where there is no 3D, three.js says so before the page does.
    if (/WebGL context/.test(message.text())) return;
    // Refusals are answers; the browser tells of each. So it does when the server was ended.
    if (/status of (409|422)/.test(message.text())) return;
    if (server.process.killed && /ERR_CONNECTION|ERR_INCOMPLETE|ERR_EMPTY/.test(message.text())) return;
    faults.check(!["error", "warning"].includes(message.type()), `console: ${message.text()}`);
  });
  opened.on("pageerror", (error) => faults.check(false, `script error: ${error.message}`));
  opened.on("dialog", (dialog) => {
    faults.check(false, `a dialog opened: ${dialog.message()}`);
    dialog.dismiss();
  });
  opened.on("request", (request) => {
    const url = request.url();
    faults.check(url.startsWith(server.origin + "/") || /^(blob|data):/.test(url), `asked the network for ${url}`);
  });
  await opened.goto(address);
  await opened.waitForSelector(".drop");
  return opened;
}

export async function accessible(at, name, faults) {
  await at.evaluate(axeSource);
  const found = await at.evaluate(() => axe.run({ iframes: false }).then((r) => r.violations.map((v) => ({ id: v.id, impact: v.impact, nodes: v.nodes.map((n) => n.html).slice(0, 3) }))));
  for (const one of found) faults.check(!["serious", "critical"].includes(one.impact), `${name}: axe: ${JSON.stringify(one)}`);
  faults.check(await at.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name}: wider than the window`);
}

export const whole = (at) => at.waitForSelector(".sheet:not(.stale) iframe", { timeout: 240000 });
export const chosen = (at) => at.evaluate(() => location.hash.slice(1));

// A cube, or box of [x, y, z], of so many mm as text STL; of its twelve triangles, those that `keep` lets stay.
export function box(size, keep = () => true) {
  const [x, y, z] = Array.isArray(size) ? size : [size, size, size];
  const v = [...Array(8).keys()].map((i) => [(i & 1) * x, ((i >> 1) & 1) * y, ((i >> 2) & 1) * z]);
  const faces = [[0, 2, 3], [0, 3, 1], [4, 5, 7], [4, 7, 6], [0, 1, 5], [0, 5, 4], [2, 6, 7], [2, 7, 3], [0, 4, 6], [0, 6, 2], [1, 3, 7], [1, 7, 5]];
  const facet = (face) => `facet normal 0 0 0\nouter loop\n${face.map((i) => `vertex ${v[i].join(" ")}`).join("\n")}\nendloop\nendfacet`;
  return `solid box\n${faces.filter((_, i) => keep(i)).map(facet).join("\n")}\nendsolid box\n`;
}
