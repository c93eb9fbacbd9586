// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/plan/plan.h"
#include "cavigram/report/text.h"
#include "cavigram/tally/casting.h"

namespace cavigram::program {

/// How the schema is told.
enum class SchemaForm { json, markdown, types };

/// Everything that a command can be asked for. Each row of the table of options (option_table.h)
/// fills one member.
struct Options {
    Options() {
        plan.air.up_given = false;
        casting.verdict = "good";
    }

    PlanRequest plan;
    Casting casting;         ///< `tally`: what was weighed; its number, its mold.
    bool yes = false;        ///< `tally`: what looks like a slip is none.
    bool history = false;    ///< `tally list`: with what was corrected and removed.
    std::string action;      ///< `foams`: list, show or check,
    std::string shown_card;  ///< and which card.
    SchemaForm schema_form = SchemaForm::json;
    bool from_tally = false;
    std::string db;  ///< The casting log's file; empty: the usual one.

    int port = 0;             ///< `serve`: 0: one that is free.
    bool no_browser = false;  ///< `serve`: only prints its address.
    bool no_recent = false;   ///< `serve`: keeps no parts for the next start.

    std::vector<std::filesystem::path> parts;  ///< All that were given; the first is the plan's.
    bool table = false;     ///< `plan`: a folder and a row for each of the parts.
    bool one_scan = false;  ///< `plan`: as the child of such a call (scan_child.h).

    std::string job;
    std::string json;  ///< A file, or - for standard output; empty: none.
    std::filesystem::path out;
    int threads = 0;  ///< 0: one for each core.
    bool quiet = false;
    TextStyle style;
    std::optional<bool> progress;  ///< None: on a terminal only.

    /// The options that were given, by name; true if typed, false if from the job file.
    std::map<std::string, bool> given{};
    /// As they were given, by name, those of the job file among them.
    std::map<std::string, std::vector<std::string>> values{};
    [[nodiscard]] bool has(const std::string& name) const { return given.count(name) > 0; }
};

}  // namespace cavigram::program
