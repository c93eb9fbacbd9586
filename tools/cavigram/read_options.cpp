// SPDX-License-Identifier: GPL-3.0-or-later
#include "read_options.h"

#include <CLI/CLI.hpp>
#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/tally/casting_log.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

std::string flag_name(const OptionRow& row) {
    return (row.positional ? "" : "--") + std::string(row.name);
}

// What the log says of the card and mix in use.
ShopFit shop_of(const FoamOptions& foam, const std::string& db) {
    const FoamCard card = card_of(foam);
    const std::string mix = fmt::format("{:g}:{:g}", card.mix.a, card.mix.b);
    const CastingLog log(db.empty() ? usual_log_path() : std::filesystem::path(db),
                         CastingLog::Access::read);
    return fit_castings(castings_of(log.all(), card.name, mix));
}

// One part, or a table of any number.
void check_parts(const Options& o) {
    if (o.table) {
        if (o.out.empty()) {
            throw InvalidInput(
                "--table needs a folder for the plans and the table; give it by --out.");
        }
        if (!o.json.empty()) {
            throw InvalidInput(
                "--json writes one plan, and --table makes many; leave --json away: plan.json is "
                "in each of the folders.");
        }
    } else if (o.parts.empty()) {
        throw InvalidInput("No part is given; name a mesh file: cavigram COMMAND PART.");
    } else if (o.parts.size() > 1) {
        throw InvalidInput(
            fmt::format("plan takes one mesh file, and \"{}\" is one too many; give --table and "
                        "--out for a folder and a row for each, or more parts from one cup by "
                        "--also.",
                        o.parts[1].string()));
    }
}

// What one option can't see of another.
void check_together(const Options& o, CommandSet command) {
    if ((command & kPart) != 0) {
        check_parts(o);
    }
    if (o.plan.part.mend.wrap && o.plan.part.mend.level != MendLevel::full) {
        throw InvalidInput(
            "A wrap changes the whole surface; give --wrap without --mend off or gentle.");
    }
    if (o.has("altitude") && o.has("air-pressure")) {
        throw InvalidInput("--altitude and --air-pressure say the same thing; give one of them.");
    }
    const auto& weights = o.plan.air.weights;
    if (weights && weights->of(WayMeasure::show) > 0.0 && !o.plan.air.show) {
        throw InvalidInput(
            "--weights counts the side that is seen, and none is named; name it with --show, such "
            "as --show +y, or leave show out.");
    }
    // A job file may hold the log for tally, though this command does without.
    if ((command & kSkin) != 0 && o.has("db") && o.given.at("db") && !o.from_tally) {
        throw InvalidInput("--db names a log that only --from-tally reads; give both or neither.");
    }
}

}  // namespace

void add_options(CLI::App& parser, const std::string& command) {
    for (const OptionRow& row : option_rows()) {
        if ((row.commands & command_bit(command)) == 0) {
            continue;
        }
        // Help and refusals are worded elsewhere (help.h, wrong_call.h).
        CLI::Option* option =
            row.value.flag ? parser.add_flag(flag_name(row)) : parser.add_option(flag_name(row));
        if (!row.value.flag) {
            const bool several = (row.several & command_bit(command)) != 0;
            option->expected(1,
                             row.value.list || several ? CLI::detail::expected_max_vector_size : 1);
            option->allow_extra_args(several);
        }
    }
}

Options read_values(const JobValues& typed, const JobValues& job, const std::string& command) {
    const CommandSet bit = command_bit(command);
    Options options;
    for (const OptionRow& row : option_rows()) {
        if ((row.commands & bit) == 0) {
            continue;
        }
        const auto by_hand = typed.find(row.name);
        const auto from_job = job.find(row.name);
        if (by_hand == typed.end() && from_job == job.end()) {
            continue;
        }
        const std::vector<std::string>& texts =
            by_hand != typed.end() ? by_hand->second : from_job->second;
        if (row.value.flag && texts.front() != "true") {
            throw InvalidInput(fmt::format("{} is a switch and takes no value; leave \"{}\" away.",
                                           flag_name(row), texts.front()));
        }
        for (const std::string& text : texts) {
            row.value.read(options, text, flag_name(row));
        }
        options.given[row.name] = by_hand != typed.end();
        options.values[row.name] = texts;
    }
    check_together(options, bit);
    if (options.from_tally) {
        options.plan.foam.shop = shop_of(options.plan.foam, options.db);
    }
    return options;
}

Options read_options(const CLI::App& parser, const std::string& command) {
    const CommandSet bit = command_bit(command);
    JobValues typed;
    for (const OptionRow& row : option_rows()) {
        const CLI::Option* option =
            (row.commands & bit) != 0 ? parser.get_option(flag_name(row)) : nullptr;
        if (option != nullptr && option->count() > 0) {
            typed[row.name] = option->results();
        }
    }
    const auto job = typed.find("job");
    return read_values(typed, job != typed.end() ? read_job(job->second.front()) : JobValues(),
                       command);
}

}  // namespace cavigram::program
