// SPDX-License-Identifier: GPL-3.0-or-later
// What the build of each page needs: one script or style from many, and text as C++ literals.
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));

export async function bundled(entry) {
  const result = await build({
    entryPoints: [entry],
    bundle: true,
    minify: true,
    write: false,
    target: ["es2021"],
    charset: "ascii",
    format: "iife",
    jsx: "automatic",
    jsxImportSource: "preact",
    nodePaths: [join(here, "node_modules")],
    legalComments: "inline",
    logLevel: "warning",
  });
  // No text of a script may end the element that holds it.
  return result.outputFiles[0].text.trim().replaceAll("</script", "<\\/script");
}

// Pieces, since compilers need not take a literal of more than 65,536 characters; with their length, as clang will not count
// that many. The source names std::string_view_literals.
export function pieces(text) {
  const all = [];
  for (let i = 0; i < text.length; i += 15000) all.push(`R"page(${text.slice(i, i + 15000)})page"sv`);
  return all;
}
