// SPDX-License-Identifier: GPL-3.0-or-later
// Bundles the page of `cavigram serve` into a C++ source file.
//
//   node build.mjs FOLDER     writes FOLDER/serve_page.cpp
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { bundled, pieces } from "../pour_sheet/bundle.mjs";

const folder = process.argv[2];
if (!folder) {
  console.error("usage: node build.mjs FOLDER");
  process.exit(2);
}
const page = join(dirname(fileURLToPath(import.meta.url)), "page");

function source(name, text) {
  const parts = pieces(text);
  return `std::string serve_page_${name}() {
    constexpr std::array<std::string_view, ${parts.length}> kPieces = {
${parts.join(",\n")}};
    std::string page;
    for (const std::string_view piece : kPieces) {
        page += piece;
    }
    return page;
}
`;
}

const files = {
  html: readFileSync(join(page, "page.html"), "utf8"),
  js: await bundled(join(page, "main.tsx")),
  css: await bundled(join(page, "style.css")),
};
mkdirSync(folder, { recursive: true });
writeFileSync(
  join(folder, "serve_page.cpp"),
  `// Made by tools/serve/build.mjs.
#include "serve_page.h"

#include <array>
#include <string_view>

using namespace std::string_view_literals;

namespace cavigram::serve {

${Object.entries(files).map(([name, text]) => source(name, text)).join("\n")}
}  // namespace cavigram::serve
`,
);
