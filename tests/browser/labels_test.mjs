// SPDX-License-Identifier: GPL-3.0-or-later
// No word in a picture, template, tile or map is cut off or lies on another, in fonts of any width: by the boxes of the glyphs in a real browser.
//
//   node labels_test.mjs PROGRAM PROJECT_FOLDER
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Faults, browser, planned, sheetData } from "./sheet.mjs";

const [program, project] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_labels_"));
const faults = new Faults();

// Of each outermost drawing its words: boxes from the baseline, as high as letters are.
function boxes() {
  return [...document.querySelectorAll("body > svg, .tile > svg")].filter((svg) => svg.width.baseVal.value > 0).map((svg) => {
    const frame = svg.getBoundingClientRect();
    const words = [...svg.querySelectorAll("text")].map((text) => {
      const { left, right } = text.getBoundingClientRect();
      const matrix = text.getScreenCTM();
      const size = Number(text.getAttribute("font-size")) * matrix.d;
      const baseline = matrix.f + Number(text.getAttribute("y")) * matrix.d;
      return { words: text.textContent, left, right, top: baseline - 0.74 * size, bottom: baseline + 0.2 * size };
    });
    return { frame: { left: frame.left, right: frame.right, top: frame.top, bottom: frame.bottom }, words };
  });
}

function check(name, { frame, words }) {
  faults.check(words.length > 0, `${name}: no words`);
  const slack = 0.5; // of a pixel
  words.forEach((one, i) => {
    const within = one.left >= frame.left - slack && one.right <= frame.right + slack && one.top >= frame.top - slack && one.bottom <= frame.bottom + slack;
    faults.check(within, `${name}: "${one.words}" is cut off`);
    for (const other of words.slice(i + 1)) {
      const apart = one.right <= other.left + slack || other.right <= one.left + slack || one.bottom <= other.top + slack || other.bottom <= one.top + slack;
      faults.check(apart, `${name}: "${one.words}" lies on "${other.words}"`);
    }
  });
}

const samples = [
  ["mooring_cleat.stl", "--units", "mm"],
  ["hand_lantern.glb"],
  ["ships_bell.ply", "--units", "mm", "--pour-hole-after", "plugged"],
  ["rope_coil_inches.stl", "--units", "in", "--up", "+x", "--most-vents", "8"],
];

const chromium = await browser();
let tiles = 0;
try {
  const page = await chromium.newPage({ viewport: { width: 1400, height: 1000 } });
  for (const [mesh, ...options] of samples) {
    const out = join(folder, mesh);
    planned(program, [join(project, "sample_meshes", mesh), ...options, "--out", out]);
    const read = (file) => readFileSync(join(out, file), "utf8");
    const drawings = readdirSync(out).filter((file) => /^(template|parting)_.*\.(svg|html)$|^orient_map/.test(file)).map((file) => [file, read(file)]);
    tiles += drawings.filter(([file]) => /_tiles\.html$/.test(file)).length;
    faults.check(drawings.some(([file]) => file === "parting_front.svg"), `${mesh}: no view of the parting line`);
    for (const picture of sheetData(join(out, "pour_sheet.html")).pictures) drawings.push([picture.title, Buffer.from(picture.svg, "base64").toString()]);
    for (const [file, text] of drawings) {
      await page.setContent(text.startsWith("<!doctype") ? text : `<!doctype html><body>${text}</body>`);
      for (const font of ["sans-serif", "serif", "monospace"]) {
        await page.addStyleTag({ content: `text { font-family: ${font}; }` });
        for (const drawing of await page.evaluate(boxes)) check(`${mesh}, ${file}, ${font}`, drawing);
      }
    }
  }
  faults.check(tiles > 0, "no sample is larger than a page");
} finally {
  await chromium.close();
  rmSync(folder, { recursive: true });
}
faults.end();
