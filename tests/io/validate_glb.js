// SPDX-License-Identifier: GPL-3.0-or-later
// node validate_glb.js VALIDATOR FILE...: prints what the Khronos validator finds, and fails if that is anything.
const fs = require("fs");
const [validator, ...files] = process.argv.slice(2);

async function main() {
    let found = 0;
    for (const file of files) {
        const report = await require(validator).validateBytes(new Uint8Array(fs.readFileSync(file)));
        const issues = report.issues;
        found += issues.numErrors + issues.numWarnings + issues.numInfos + issues.numHints;
        console.log(`${file}: ${JSON.stringify(issues.messages)}`);
    }
    process.exitCode = found === 0 ? 0 : 1;
}

main();
