// SPDX-License-Identifier: GPL-3.0-or-later
// The program: words become a request, results become text, errors become one sentence and an exit
// status (here and nowhere else).
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <exception>
#include <new>
#include <string>
#include <unistd.h>
#include <vector>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/report/json.h"

#include "commands.h"
#include "job.h"
#include "session.h"

namespace cavigram::program {

namespace {

enum ExitStatus {
    kDone = 0,
    kNeedsAttention = 1,
    kWrongCall = 2,
    kUnusable = 3,
    kInternal = 4,
    kStopped = 130
};

int complain(const std::string& sentence, int status) {
    std::fprintf(stderr, "cavigram: %s\n", sentence.c_str());
    return status;
}

std::vector<std::string> option_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::Option* option : app.get_options()) {
        for (const std::string& name : option->get_lnames()) {
            names.push_back("--" + name);
        }
    }
    for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
        const std::vector<std::string> below = option_names(*command);
        names.insert(names.end(), below.begin(), below.end());
    }
    return names;
}

// The command that was typed, `tally add` for both words.
const CLI::App& innermost(const CLI::App& app) {
    const CLI::App* at = &app;
    while (!at->get_subcommands().empty()) {
        at = at->get_subcommands().front();
    }
    return *at;
}

std::string sentence_of(const CLI::ParseError& error, const CLI::App& app,
                        const std::vector<std::string>& arguments) {
    if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr ||
        dynamic_cast<const CLI::RequiredError*>(&error) != nullptr) {
        const std::vector<std::string> names = option_names(app);
        std::vector<std::string> commands;
        for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
            commands.push_back(command->get_name());
        }
        if (arguments.empty() ||
            (!arguments.front().empty() && arguments.front()[0] != '-' &&
             std::find(commands.begin(), commands.end(), arguments.front()) == commands.end())) {
            const std::string nearest =
                arguments.empty() ? "" : nearest_word(arguments.front(), commands);
            return format("%s%s%s%s; \"cavigram --help\" lists the commands.",
                          arguments.empty()
                              ? "No command is given"
                              : ("\"" + arguments.front() + "\" is no command").c_str(),
                          nearest.empty() ? "" : "; did you mean ", nearest.c_str(),
                          nearest.empty() ? "" : "?");
        }
        if (arguments.front() == "tally" &&
            (arguments.size() < 2 || arguments[1].rfind("--", 0) == 0 ||
             innermost(app).get_name() == "tally")) {
            return "tally needs to be told what to do; give add, list, undo, fit or export.";
        }
        for (const std::string& argument : arguments) {
            const std::string name = argument.substr(0, argument.find('='));
            if (name.rfind("--", 0) == 0 &&
                std::find(names.begin(), names.end(), name) == names.end()) {
                const std::string nearest = nearest_word(name, names);
                return format("%s is no option%s%s%s; \"cavigram %s --help\" lists them.",
                              name.c_str(), nearest.empty() ? "" : "; did you mean ",
                              nearest.c_str(), nearest.empty() ? "" : "?",
                              arguments.front().c_str());
            }
        }
    }
    std::string text = error.what();
    std::replace(text.begin(), text.end(), '\n', ' ');
    return format("%s; \"cavigram --help\" tells what there is.", text.c_str());
}

int run(const std::vector<std::string>& arguments) {
    CLI::App app("cavigram: a part's mesh in; grams, vents and a pour plan out.");
    app.set_version_flag("--version", "cavigram " CAVIGRAM_VERSION);
    app.require_subcommand(1);
    app.footer(
        "cavigram COMMAND --help lists a command's options. Quantities take a unit: 14in, 355mm, "
        "8lb/ft3, 68F, 150g.\n"
        "Exit status: 0 done; 1 done, but the part needs attention first; 2 wrong call; 3 input "
        "unusable; 4 internal error; "
        "130 stopped.");
    Options options;
    const std::vector<Command> commands = {add_inspect(app, options), add_thin(app, options),
                                           add_weigh(app, options),   add_vent(app, options),
                                           add_orient(app, options),  add_bench(app, options),
                                           add_plan(app, options),    add_tally(app, options),
                                           add_foams(app, options),   add_schema(app, options)};
    const auto parse = [&](std::vector<std::string> words) {
        std::reverse(words.begin(), words.end());  // as the parser wants them
        app.parse(words);
    };
    try {
        parse(arguments);
        if (!options.job.empty()) {
            std::vector<std::string> words = arguments;
            const std::vector<std::string> added = job_arguments(innermost(app), options.job);
            words.insert(words.end(), added.begin(), added.end());
            app.clear();
            options = Options();
            parse(words);
        }
    } catch (const CLI::CallForHelp&) {
        print(innermost(app).help());
        return kDone;
    } catch (const CLI::CallForVersion&) {
        print("cavigram " CAVIGRAM_VERSION "\n");
        return kDone;
    } catch (const CLI::ParseError& error) {
        return complain(sentence_of(error, app, arguments), kWrongCall);
    }
    if (!options.progress.empty() && options.progress != "on" && options.progress != "off") {
        throw InvalidInput("--progress is \"" + options.progress + "\"; give on or off.");
    }
    const bool shown = options.progress == "on" ||
                       (options.progress.empty() && !options.quiet && ::isatty(STDERR_FILENO) == 1);
    const StopWatch watch;
    ProgressLine line(shown);
    RunContext context;
    context.threads = options.threads;
    context.stop = watch.token();
    context.progress = [&](std::string_view phase, double share) { line.show(phase, share); };
    for (const Command& command : commands) {
        if (command.app->parsed()) {
            return command.run(options, context);
        }
    }
    return kInternal;
}

}  // namespace

void print(const std::string& text) {
    if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() ||
        std::fflush(stdout) != 0) {
        throw WriteError(format("Can't write to standard output: %s.", std::strerror(errno)));
    }
}

int run_stages(const Options& options, const Stages& stages,
               const std::function<std::string(const Plan&)>& text, const RunContext& context) {
    const PlanRequest request = request_of(options);
    const Plan plan = make_plan(request, stages, context);
    const std::string shown = text(plan);
    const bool json_to_output = options.json == "-";
    if (!options.json.empty() && !json_to_output) {
        write_file(options.json, json_text(plan));
    }
    context.report("done", 1.0);
    if (json_to_output) {
        print(json_text(plan));
    } else if (!options.quiet) {
        print(shown);
    }
    return has_stop(plan) ? kNeedsAttention : kDone;
}

}  // namespace cavigram::program

int main(int argc, char** argv) {
    using namespace cavigram;
    using namespace cavigram::program;
    try {
        return run({argv + 1, argv + argc});
    } catch (const Cancelled& error) {
        return complain(error.what(), kStopped);
    } catch (const InvalidInput& error) {
        return complain(error.what(), kWrongCall);
    } catch (const UnusableInput& error) {
        return complain(error.what(), kUnusable);
    } catch (const WriteError& error) {
        return complain(error.what(), kUnusable);
    } catch (const std::bad_alloc&) {
        return complain(
            "There is not enough memory for this part; close other programs or use a coarser mesh.",
            kUnusable);
    } catch (const std::exception& error) {
        return complain(std::string("An internal error, which should be reported with the file: ") +
                            error.what(),
                        kInternal);
    }
}
