// SPDX-License-Identifier: GPL-3.0-or-later
#include "option_docs.h"

#include <algorithm>
#include <cctype>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "option_table.h"

namespace cavigram::program {

namespace {

std::string call_of(const OptionRow& row) {
    if (row.positional) {
        std::string name = row.name;
        std::transform(name.begin(), name.end(), name.begin(),
                       [](unsigned char c) { return std::toupper(c); });
        return name;
    }
    return "--" + std::string(row.name) + (row.value.flag ? "" : " " + std::string(row.example));
}

std::string commands_of(const OptionRow& row) {
    return row.commands == kPart ? "all of a part" : listed(command_names(row.commands), "and");
}

}  // namespace

std::string options_markdown() {
    std::string text =
        "# Options\n\nMade from the program's own table (`cavigram --list-options markdown`); "
        "DEVELOPERS.md tells how to add one. Values are\nexamples. In a job file (`--job`) the "
        "names stand without dashes: `density = \"9lb/ft3\"`, `quiet = true`, `vent = "
        "[\"12,0,40.5\"]`;\nfiles are looked for beside it, one file serves all commands, and what "
        "you type wins. \"All of a\npart\": inspect, thin, weigh, vent, orient, bench, plan and "
        "tally add.\n";
    const char* group = "";
    for (const OptionRow& row : option_rows()) {
        if (to_text(row.group) != std::string(group)) {
            group = to_text(row.group);
            text += fmt::format(
                "\n## {}\n\n| option | what it is | takes | commands |\n"
                "|---|---|---|---|\n",
                group);
        }
        text += fmt::format("| `{}` | {}{} | {} | {} |\n", call_of(row), row.help,
                            row.value.list ? "; may be repeated" : "", row.value.kind,
                            commands_of(row));
    }
    return text;
}

std::string options_json() {
    nlohmann::ordered_json all;
    all["commands"] = kCommandNames;
    for (const OptionRow& row : option_rows()) {
        all["options"].push_back({{"name", row.name},
                                  {"group", to_text(row.group)},
                                  {"takes", row.value.kind},
                                  {"example", row.example},
                                  {"second", row.second},
                                  {"flag", row.value.flag},
                                  {"list", row.value.list},
                                  {"positional", row.positional},
                                  {"words", row.value.words},
                                  {"commands", command_names(row.commands)},
                                  {"help", row.help}});
    }
    return all.dump(1) + "\n";
}

}  // namespace cavigram::program
