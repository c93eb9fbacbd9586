// SPDX-License-Identifier: GPL-3.0-or-later
// What has nothing to do with the part.
#include "option_table.h"

namespace cavigram::program {

std::vector<OptionRow> program_options() {
    const Group g = Group::program;
    return {
        {"job", g, kPart | kTallyReads | kTallyCorrect, "job.toml",
         "TOML file that holds any of these options; what you type wins",
         text("a file", into(&Options::job))},
        {"json", g, kPlans, "plan.json",
         "Write everything computed as JSON to a file, or - for standard output",
         text("a file", into(&Options::json))},
        {"out", g, kInspect | kOrient | kSplit | kPlan | kTallyExport, "cleat_plan",
         "Folder to write to (tally export: CSV file)", text("a path", into(&Options::out))},
        {"table", g, kPlan, "",
         "Plan each of several parts: a folder and a row of table.csv and table.html in --out for "
         "each; what is done there is not done again",
         flag(into(&Options::table))},
        {"threads", g, kPart, "2", "Threads to use (default: one for each core)",
         whole_number(0, 256, "1 to 256, or 0 for one on each core", into(&Options::threads))},
        {"progress", g, kPart, "on", "on or off (default: on a terminal only)",
         choice<bool>({{"on", true}, {"off", false}}, into(&Options::progress))},
        {"as", g, kSchema, "markdown",
         "json (the schema; default), markdown (docs/json.md) or types (TypeScript)",
         choice<SchemaForm>({{"json", SchemaForm::json},
                             {"markdown", SchemaForm::markdown},
                             {"types", SchemaForm::types}},
                            into(&Options::schema_form))},
        {"port", g, kServe, "8123", "Port to listen on, on this machine only (default: a free one)",
         whole_number(1, 65'535, "1 to 65535", into(&Options::port))},
        {"no-browser", g, kServe, "", "Open no browser; the address is printed either way",
         flag(into(&Options::no_browser))},
        {"no-recent", g, kServe, "", "Keep no copies of recent parts for the next start",
         flag(into(&Options::no_recent))},
        {"tally", g, kServe, "shop.db", "File of the casting log (default: your own)",
         text("a file", into(&Options::db))},
        {"detail", g, kWeigh | kVent | kOrient | kBench | kSplit | kMold | kHandle | kRise | kPlan,
         "", "Print everything, and what each figure rests on",
         flag([](Options& o) -> bool& { return o.style.detail; })},
        {"first-units", g, kPlans, "us", "Which units are printed first: metric (default) or us",
         choice<UnitSystem>({{"metric", UnitSystem::metric}, {"us", UnitSystem::us}},
                            [](Options& o) -> UnitSystem& { return o.style.first; })},
        {"quiet", g, kPart, "", "Print nothing but errors", flag(into(&Options::quiet))},
    };
}

}  // namespace cavigram::program
