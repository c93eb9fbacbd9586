// SPDX-License-Identifier: GPL-3.0-or-later
// What the program writes against the schema that it ships, by an independent validator (ajv), with unknown keys forbidden.
//
//   node schema_test.mjs PROGRAM PROJECT_FOLDER
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Ajv from "ajv/dist/2020.js";
import { Faults, run } from "./sheet.mjs";

const [program, project] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "cavigram_schema_"));
const faults = new Faults();
const sample = (name) => join(project, "sample_meshes", name);
const cleat = [sample("mooring_cleat.stl"), "--units", "mm"];

// Keys may be added by later versions, so the schema allows others; this version writes none that it does not describe.
function sealed(schema) {
  const close = (block) => ({ ...block, additionalProperties: false });
  return { ...close(schema), $defs: Object.fromEntries(Object.entries(schema.$defs).map(([name, block]) => [name, close(block)])) };
}

const calls = [
  ["inspect", sample("figurehead_scan.obj"), "--units", "mm"],
  ["thin", sample("ships_bell.ply"), "--units", "mm", "--limit", "8mm", "--thicken", "1mm"],
  ["weigh", ...cleat],
  ["weigh", ...cleat, "--density", "11lb/ft3", "--also", sample("mooring_cleat.stl"), "--pigment", "3%"],
  ["weigh", ...cleat, "--density", "2lb/ft3"],
  ["weigh", ...cleat, "--skin-thickness", "0.5mm", "--profile", "exponential", "--waste", "3g@40g"],
  ["vent", sample("rope_coil_inches.stl"), "--units", "in", "--show", "+z"],
  ["vent", ...cleat, "--pour-hole-after", "none", "--neck", "0mm"],
  ["vent", ...cleat, "--pour-hole-after", "plugged", "--vent=-64.4,-24.0,4.4"],
  ["orient", ...cleat, "--up", "+z", "--weights", "air=1,height=2"],
  ["orient", ...cleat, "--pour-hole-after", "none"],
  ["bench", ...cleat, "--largest-batch", "20g"],
  ["bench", ...cleat, "--density", "5lb/ft3", "--mix", "50:100"],
  ["plan", sample("hand_lantern.glb"), "--out", join(folder, "lantern")],
];

try {
  const schema = JSON.parse(run(program, ["schema"]).stdout);
  const ajv = new Ajv({ allErrors: true, strict: true });
  ajv.addKeyword("unit");
  faults.check(ajv.validateSchema(schema) === true, "the schema is a valid one of draft 2020-12");
  const validate = ajv.compile(sealed(schema));
  for (const call of calls) {
    const file = join(folder, "out.json");
    const result = run(program, [...call, "--json", file, "--quiet"]);
    faults.check([0, 1].includes(result.status), `${call.join(" ")}: exit ${result.status} ${result.stderr}`);
    const json = JSON.parse(readFileSync(file, "utf8"));
    const good = validate(json);
    faults.check(good, `${call.join(" ")}: ${ajv.errorsText(validate.errors, { separator: "; " }).slice(0, 600)}`);
    // A validator that lets anything pass would prove nothing.
    faults.check(!validate({ ...json, surplus: 1 }), `${call[0]}: a key that nobody described passes`);
    faults.check(!validate({ ...json, measures: { ...json.measures, volume_mm3: "much" } }), `${call[0]}: a text passes as a number`);
    const { cautions, ...without } = json;
    faults.check(!validate(without), `${call[0]}: a missing key passes`);
  }
} finally {
  rmSync(folder, { recursive: true });
}
faults.end();
