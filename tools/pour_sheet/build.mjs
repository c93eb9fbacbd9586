// SPDX-License-Identifier: GPL-3.0-or-later
// Bundles the page: scripts and styles into one HTML file, and that into a C++ source file.
//
//   node build.mjs FOLDER     writes FOLDER/page.html and FOLDER/pour_sheet_page.cpp
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { bundled, pieces } from "./bundle.mjs";

const folder = process.argv[2];
if (!folder) {
  console.error("usage: node build.mjs FOLDER");
  process.exit(2);
}
const here = dirname(fileURLToPath(import.meta.url));

// The page may run and show only what is in it: no network, no other script, no style but its own.
function policy(script, style) {
  const hash = (text) => `'sha256-${createHash("sha256").update(text).digest("base64")}'`;
  return [
    "default-src 'none'",
    `script-src ${hash(script)}`,
    `style-src ${hash(style)}`,
    "img-src data: blob:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
}

const script = await bundled(join(here, "src", "main.tsx"));
const style = await bundled(join(here, "src", "style.css"));
let page = readFileSync(join(here, "src", "page.html"), "utf8");
for (const [place, text] of [
  ["@POLICY@", policy(script, style)],
  ["@STYLE@", style],
  ["@SCRIPT@", script],
]) {
  if (page.split(place).length !== 2) throw new Error(`page.html must hold ${place} once`);
  page = page.split(place).join(text);
}

const parts = pieces(page);
const source = `// Made by tools/pour_sheet/build.mjs.
#include "pour_sheet_page.h"

#include <array>
#include <string_view>

using namespace std::string_view_literals;

namespace cavigram::program {

namespace {

constexpr std::array<std::string_view, ${parts.length}> kPieces = {
${parts.join(",\n")}};

}  // namespace

std::string pour_sheet_page() {
    std::string page;
    for (const std::string_view piece : kPieces) {
        page += piece;
    }
    return page;
}

}  // namespace cavigram::program
`;
mkdirSync(folder, { recursive: true });
writeFileSync(join(folder, "page.html"), page);
writeFileSync(join(folder, "pour_sheet_page.cpp"), source);
