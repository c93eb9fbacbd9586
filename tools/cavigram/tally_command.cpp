// SPDX-License-Identifier: GPL-3.0-or-later
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

#include "commands.h"
#include "tally_work.h"

namespace cavigram::program {

namespace {

int add(const Options& options, const RunContext& context) {
    const Casting casting = add_casting(options, context);
    if (!options.quiet) {
        print(casting_text(casting), "the casting is logged");
    }
    return 0;
}

// With the file's name: it may be another than the person means.
std::string nothing_yet(const Options& options) {
    return "Nothing yet in " + log_path(options).string() +
           "; cavigram tally add PART logs what a casting weighed.\n";
}

int list(const Options& options) {
    if (!log_is_there(options)) {
        print(nothing_yet(options));
        return 0;
    }
    const std::vector<Casting> castings = logged(options);
    std::string text = castings_text(castings);
    if (!options.casting.mold.empty() && !castings.empty()) {
        text += mold_text(options.casting.mold, castings);
    }
    text += history_text(CastingLog(log_path(options), CastingLog::Access::read).history(),
                         options.history);
    print(text);
    return 0;
}

int correct(const Options& options) {
    const Correction done = correct_casting(options);
    print("Was: " + casting_text(done.was) + "Now: " + casting_text(done.now),
          "the casting is corrected");
    return 0;
}

int remove(const Options& options) {
    print("Removed: " + casting_text(remove_casting(options)), "the casting is removed");
    return 0;
}

int undo(const Options& options) {
    const std::optional<Casting> gone = undo_casting(options);
    print(gone ? "Taken back: " + casting_text(*gone) : nothing_yet(options),
          gone ? "the casting is taken back" : "");
    return 0;
}

// Each foam and mix by itself; what can be said of one is not lost because of another.
std::string fits_text(const std::vector<Casting>& castings) {
    const std::vector<std::vector<Casting>> parted = by_foam_and_mix(castings);
    std::string text;
    std::size_t failed = 0;
    for (const std::vector<Casting>& some : parted) {
        text += text.empty() ? "" : "\n";
        try {
            text += fit_text(fit_castings(some));
        } catch (const InvalidInput& error) {
            if (++failed == parted.size()) {
                throw;
            }
            text += no_fit_text(some.front(), error.told());
        }
    }
    return text;
}

int fit(const Options& options) {
    const FoamOptions& foam = options.plan.foam;
    print(
        fits_text(castings_of(logged(options), options.has("foam") ? foam.card : "",
                              foam.mix ? fmt::format("{:g}:{:g}", foam.mix->a, foam.mix->b) : "")));
    return 0;
}

int export_csv(const Options& options) {
    const std::string csv = castings_csv(logged(options));
    if (options.out.empty() || options.out == "-") {
        print(csv);
    } else {
        write_file(options.out, csv);
    }
    return 0;
}

}  // namespace

std::vector<Command> tally_commands() {
    return {
        {"tally", "Log what castings weighed; fit this shop's own skin, density and waste",
         nullptr},
        {"tally add", "Log one casting: cavigram tally add PART --cup 60g --part-mass 52.4g", add},
        {"tally list", "All castings, or those from one mold",
         [](const Options& given, const RunContext&) { return list(given); }},
        {"tally correct", "Correct a casting by its number: cavigram tally correct 2 --flash 2g",
         [](const Options& given, const RunContext&) { return correct(given); }},
        {"tally remove", "Remove a casting by its number; it stays in the history",
         [](const Options& given, const RunContext&) { return remove(given); }},
        {"tally undo", "Take back the last one",
         [](const Options& given, const RunContext&) { return undo(given); }},
        {"tally fit", "What this shop's castings say of each foam and mix",
         [](const Options& given, const RunContext&) { return fit(given); }},
        {"tally export", "As CSV",
         [](const Options& given, const RunContext&) { return export_csv(given); }},
    };
}

}  // namespace cavigram::program
