// SPDX-License-Identifier: GPL-3.0-or-later
// The program: words become a request, results become text, errors become one sentence and an exit
// status (here and nowhere else).
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <exception>
#include <filesystem>
#include <string>
#include <unistd.h>
#include <utility>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/report/json.h"

#include "commands.h"
#include "fault_words.h"
#include "help.h"
#include "option_docs.h"
#include "read_options.h"
#include "scan_child.h"
#include "session.h"
#include "shell_files.h"
#include "terminal.h"
#include "wrong_call.h"

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

std::vector<Command> all_commands() {
    std::vector<Command> commands = {inspect_command(),
                                     printing_command("thin"),
                                     printing_command("weigh"),
                                     printing_command("vent"),
                                     orient_command(),
                                     printing_command("bench"),
                                     split_command(),
                                     printing_command("mold"),
                                     printing_command("handle"),
                                     printing_command("rise"),
                                     plan_command()};
    for (Command& command : tally_commands()) {
        commands.push_back(std::move(command));
    }
    commands.push_back(foams_command());
    commands.push_back(serve_command());
    commands.push_back(schema_command());
    return commands;
}

// `tally add` stands below `tally`, which comes before it.
CLI::App* add_command(CLI::App& app, const Command& command) {
    const std::size_t space = command.name.find(' ');
    CLI::App* const above =
        space == std::string::npos ? &app : app.get_subcommand(command.name.substr(0, space));
    CLI::App* const parser = above->add_subcommand(command.name.substr(space + 1), command.help);
    if (command.run) {
        add_options(*parser, command.name);
    } else {
        parser->require_subcommand(1);
    }
    return parser;
}

// The command that was typed, `tally add` for both words.
const CLI::App& innermost(const CLI::App& app) {
    const CLI::App* at = &app;
    while (!at->get_subcommands().empty()) {
        at = at->get_subcommands().front();
    }
    return *at;
}

int run_command(const Command& command, const CLI::App& parser, bool one_scan) {
    const StopWatch watch;
    Options options = read_options(parser, command.name);
    options.one_scan = one_scan;
    ProgressLine line(options.progress.value_or(!options.quiet && ::isatty(STDERR_FILENO) == 1));
    RunContext context;
    context.threads = options.threads;
    context.stop = watch.token();
    context.progress = [&](std::string_view phase, double share) { line.show(phase, share); };
    return command.run(options, context);
}

// All that is made from the table of options.
std::string listed_options(const std::string& form, const std::vector<Command>& commands) {
    if (form == "bash") {
        return bash_completion();
    }
    if (form == "zsh") {
        return zsh_completion(commands);
    }
    if (form == "fish") {
        return fish_completion(commands);
    }
    if (form == "man") {
        return man_page(commands);
    }
    return form == "json" ? options_json() : options_markdown();
}

int run(std::vector<std::string> arguments) {
    const std::vector<Command> commands = all_commands();
    if (arguments.size() == 2 && arguments[0] == "--list-options") {  // for docs, tests, packages
        print(listed_options(arguments[1], commands));
        return kDone;
    }
    const bool one_scan = !arguments.empty() && arguments.front() == kOneScan;
    if (one_scan) {
        arguments.erase(arguments.begin());
    }
    CLI::App app;
    app.set_version_flag("--version", "cavigram " CAVIGRAM_VERSION);
    app.require_subcommand(1);
    std::vector<const CLI::App*> parsers;
    parsers.reserve(commands.size());
    for (const Command& command : commands) {
        parsers.push_back(add_command(app, command));
    }
    const auto chosen = [&]() -> const Command* {
        const auto at = std::find(parsers.begin(), parsers.end(), &innermost(app));
        return at == parsers.end() ? nullptr
                                   : &commands[static_cast<std::size_t>(at - parsers.begin())];
    };
    try {
        app.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
    } catch (const CLI::CallForHelp&) {
        const std::size_t columns = output_style().columns;
        print(chosen() == nullptr ? program_help(commands, columns)
                                  : command_help(commands, chosen()->name, columns));
        return kDone;
    } catch (const CLI::CallForVersion&) {
        print("cavigram " CAVIGRAM_VERSION "\n");
        return kDone;
    } catch (const CLI::ParseError& error) {
        return complain(wrong_call(error, arguments), kWrongCall);
    }
    return run_command(*chosen(), innermost(app), one_scan);
}

}  // namespace

void print(const std::string& text, const std::string& done) {
    if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() ||
        std::fflush(stdout) != 0) {
        throw WriteError(fmt::format("Can't write to standard output: {}{}.", std::strerror(errno),
                                     done.empty() ? "" : "; but " + done));
    }
}

Command printing_command(const std::string& name) {
    const PartCommand& command = part_command(name);
    return {name, command.help, [&command](const Options& given, const RunContext& context) {
                return run_stages(given, command.stages, command.text, context);
            }};
}

int run_stages(const Options& options, const Stages& stages, const PlanText& text,
               const RunContext& context) {
    const bool json_to_output = options.json == "-";
    // Before it takes a minute; the folder of the other files is yet to be made.
    if (!options.json.empty() && !json_to_output &&
        (options.out.empty() || std::filesystem::path(options.json).parent_path() != options.out)) {
        check_file_place(options.json);
    }
    const Plan plan = make_plan(options.plan, stages, context);
    const std::string shown = text(plan, output_style(options.style));
    if (!options.json.empty() && !json_to_output) {
        write_file(options.json, json_text(plan));
    }
    context.report("done", 1.0);
    const bool has_files = !options.out.empty() || (!options.json.empty() && !json_to_output);
    const std::string done = has_files ? "the files are written" : "";
    if (json_to_output) {
        print(json_text(plan), done);
    } else if (!options.quiet) {
        print(shown, done);
    }
    return has_stop(plan) ? kNeedsAttention : kDone;
}

}  // namespace cavigram::program

int main(int argc, char** argv) {
    using namespace cavigram;
    using namespace cavigram::program;
    guard_streams();
    try {
        return run({argv + 1, argv + argc});
    } catch (const Cancelled& error) {
        return complain(rendered(error.told()), kStopped);
    } catch (const InvalidInput& error) {
        return complain(rendered(error.told()), kWrongCall);
    } catch (const UnusableInput& error) {
        return complain(rendered(error.told()), kUnusable);
    } catch (const WriteError& error) {
        return complain(rendered(error.told()), kUnusable);
    } catch (const std::exception& error) {
        const FaultWords fault = fault_words(error);
        return complain(fault.sentence, fault.of_machine ? kUnusable : kInternal);
    }
}
