// SPDX-License-Identifier: GPL-3.0-or-later
#include "shell_files.h"

#include <iterator>
#include <string_view>

#include <fmt/format.h>

#include "option_table.h"

namespace cavigram::program {

namespace {

bool takes(const OptionRow& row, const std::string& command) {
    return (row.commands & command_bit(command)) != 0;
}

bool takes_file(const OptionRow& row) {
    return row.value.kind.find("file") != std::string::npos || row.value.kind == "a path";
}

// `text` with each of `marked` behind `escape`.
std::string escaped(std::string_view text, std::string_view marked, std::string_view escape) {
    std::string safe;
    for (const char c : text) {
        if (marked.find(c) != std::string_view::npos) {
            safe += escape;
        }
        safe += c;
    }
    return safe;
}

std::vector<std::string> options_of(const std::string& command) {
    std::vector<std::string> names;
    for (const OptionRow& row : option_rows()) {
        if (!row.positional && takes(row, command)) {
            names.push_back("--" + std::string(row.name));
        }
    }
    names.emplace_back("--help");
    return names;
}

// The words that stand alone before the options: `inspect`, `tally`; and those below one of them.
std::vector<std::string> first_words() {
    std::vector<std::string> words;
    for (const std::string name : kCommandNames) {
        const std::string first = name.substr(0, name.find(' '));
        if (words.empty() || words.back() != first) {
            words.push_back(first);
        }
    }
    return words;
}

std::vector<std::string> words_below(const std::string& first) {
    std::vector<std::string> words;
    for (const std::string name : kCommandNames) {
        if (name.rfind(first + " ", 0) == 0) {
            words.push_back(name.substr(first.size() + 1));
        }
    }
    return words;
}

// What follows an option: one of a few words, a file, or what can't be guessed.
std::string bash_values() {
    std::string text = "    case $before in\n";
    std::vector<std::string> files;
    for (const OptionRow& row : option_rows()) {
        if (row.positional) {
            continue;
        }
        if (!row.value.words.empty()) {
            text +=
                fmt::format("    --{}) words='{}' ;;\n", row.name, fmt::join(row.value.words, " "));
        } else if (takes_file(row)) {
            files.push_back("--" + std::string(row.name));
        } else if (!row.value.flag) {
            text += fmt::format("    --{}) return ;;\n", row.name);
        }
    }
    return text + fmt::format(
                      "    {})\n"
                      "        COMPREPLY=($(compgen -f -- \"$at\"))\n"
                      "        compopt -o filenames 2>/dev/null\n"
                      "        return\n"
                      "        ;;\n    esac\n",
                      fmt::join(files, " | "));
}

// `tally` and the like: the second word makes the command.
std::string bash_second_words() {
    std::string text = "    case $command in\n";
    for (const std::string& first : first_words()) {
        const std::vector<std::string> below = words_below(first);
        if (below.empty()) {
            continue;
        }
        text += fmt::format(
            "    {0})\n"
            "        if [ \"$COMP_CWORD\" -eq 2 ]; then\n"
            "            COMPREPLY=($(compgen -W '{1} --help' -- \"$at\"))\n"
            "            return\n"
            "        fi\n"
            "        command=\"{0} ${{COMP_WORDS[2]}}\"\n"
            "        ;;\n",
            first, fmt::join(below, " "));
    }
    return text + "    esac\n";
}

}  // namespace

std::string bash_completion() {
    std::string text =
        "# Completion of cavigram's commands and options in bash.\n"
        "_cavigram() {\n"
        "    local at=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}\n"
        "    local command=${COMP_WORDS[1]} words=\n"
        "    COMPREPLY=()\n";
    text += fmt::format(
        "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
        "        COMPREPLY=($(compgen -W '{} --help --version' -- \"$at\"))\n"
        "        return\n"
        "    fi\n",
        fmt::join(first_words(), " "));
    text += bash_values();
    text +=
        "    if [ -n \"$words\" ]; then\n"
        "        COMPREPLY=($(compgen -W \"$words\" -- \"$at\"))\n"
        "        return\n"
        "    fi\n";
    text += bash_second_words() + "    case $command in\n";
    for (const std::string name : kCommandNames) {
        text += fmt::format("    '{}') words='{}' ;;\n", name, fmt::join(options_of(name), " "));
    }
    text +=
        "    esac\n"
        "    if [[ $at == -* ]]; then\n"
        "        COMPREPLY=($(compgen -W \"$words\" -- \"$at\"))\n"
        "    else\n"
        "        COMPREPLY=($(compgen -f -- \"$at\"))\n"
        "        compopt -o filenames 2>/dev/null\n"
        "    fi\n"
        "}\n"
        "complete -F _cavigram cavigram\n";
    return text;
}

namespace {

// Within single quotes, and within zsh's brackets and colons.
std::string zsh_safe(std::string_view text) {
    return escaped(escaped(text, "[]:\\", "\\"), "'", "'\\'");
}

// One line of zsh's _arguments: name, half a sentence, and what its value is.
std::string zsh_argument(const OptionRow& row) {
    const std::string words =
        row.value.words.empty() ? "" : fmt::format("({})", fmt::join(row.value.words, " "));
    if (row.positional) {
        return fmt::format("'*:{}:{}'", row.name, words.empty() ? "_files" : words);
    }
    std::string value;
    if (!row.value.flag) {
        value = ":" + zsh_safe(row.value.kind) + ":";
        value += words.empty() && takes_file(row) ? "_files" : words;
    }
    return fmt::format("'{}--{}[{}]{}'", row.value.list ? "*" : "", row.name, zsh_safe(row.help),
                       value);
}

std::string zsh_options(const std::string& command, const std::string& indent) {
    std::string text = indent + "_arguments";
    for (const OptionRow& row : option_rows()) {
        if (takes(row, command)) {
            text += " \\\n" + indent + "    " + zsh_argument(row);
        }
    }
    return text + "\n";
}

std::string zsh_described(const std::vector<Command>& commands, const std::string& above,
                          const std::string& indent) {
    std::string text;
    for (const Command& command : commands) {
        const std::size_t space = command.name.find(' ');
        const bool below = space != std::string::npos;
        if (below ? command.name.substr(0, space) == above : above.empty()) {
            text += fmt::format("{}'{}:{}'\n", indent,
                                below ? command.name.substr(space + 1) : command.name,
                                escaped(command.help, "'", "'\\'"));
        }
    }
    return text;
}

}  // namespace

std::string zsh_completion(const std::vector<Command>& commands) {
    std::string text =
        "#compdef cavigram\n"
        "# Completion of cavigram's commands and options in zsh.\n"
        "_cavigram() {\n"
        "    local -a named\n"
        "    local state line\n"
        "    _arguments -C '1:command:->command' '*::option:->option'\n"
        "    case $state in\n"
        "    command)\n        named=(\n" +
        zsh_described(commands, "", "            ") +
        "        )\n        _describe command named\n        ;;\n"
        "    option)\n        case $words[1] in\n";
    for (const std::string& first : first_words()) {
        text += "        " + first + ")\n";
        const std::vector<std::string> below = words_below(first);
        if (below.empty()) {
            text += zsh_options(first, "            ");
        } else {
            text += "            if ((CURRENT == 2)); then\n                named=(\n";
            text += zsh_described(commands, first, "                    ");
            text +=
                "                )\n                _describe command named\n"
                "                return\n            fi\n"
                "            shift words\n            ((CURRENT--))\n"
                "            case $words[1] in\n";
            for (const std::string& second : below) {
                text += fmt::format(
                    "            {})\n{}                ;;\n", second,
                    zsh_options(fmt::format("{} {}", first, second), "                "));
            }
            text += "            esac\n";
        }
        text += "            ;;\n";
    }
    return text + "        esac\n        ;;\n    esac\n}\n_cavigram \"$@\"\n";
}

namespace {

// The commands, and those below them.
std::string fish_words(const std::vector<Command>& commands) {
    std::string text;
    const std::string all = fmt::format("{}", fmt::join(first_words(), " "));
    for (const Command& command : commands) {
        const std::size_t space = command.name.find(' ');
        const std::string help = escaped(command.help, "'\\", "\\");
        if (space == std::string::npos) {
            text += fmt::format(
                "complete -c cavigram -n 'not __fish_seen_subcommand_from {}' -a {} -d '{}'\n", all,
                command.name, help);
        } else {
            const std::string above = command.name.substr(0, space);
            text += fmt::format(
                "complete -c cavigram -n '__fish_seen_subcommand_from {0}; and not "
                "__fish_seen_subcommand_from {1}' -a {2} -d '{3}'\n",
                above, fmt::join(words_below(above), " "), command.name.substr(space + 1), help);
        }
    }
    return text;
}

// One option, where `when` holds.
std::string fish_option(const OptionRow& row, const std::string& when) {
    if (row.positional) {
        return row.value.words.empty() ? fmt::format("complete -c cavigram -n '{}' -F\n", when)
                                       : fmt::format("complete -c cavigram -n '{}' -a '{}'\n", when,
                                                     fmt::join(row.value.words, " "));
    }
    std::string value = row.value.flag ? "" : takes_file(row) ? " -r -F" : " -x";
    if (!row.value.words.empty()) {
        value += fmt::format(" -a '{}'", fmt::join(row.value.words, " "));
    }
    return fmt::format("complete -c cavigram -n '{}' -l {} -d '{}'{}\n", when, row.name,
                       escaped(row.help, "'\\", "\\"), value);
}

}  // namespace

std::string fish_completion(const std::vector<Command>& commands) {
    std::string text =
        "# Completion of cavigram's commands and options in fish.\n"
        "complete -c cavigram -f\n" +
        fish_words(commands);
    for (const std::string name : kCommandNames) {
        const std::size_t space = name.find(' ');
        std::string when = "__fish_seen_subcommand_from " + name.substr(0, space);
        if (space != std::string::npos) {
            when += "; and __fish_seen_subcommand_from " + name.substr(space + 1);
        }
        for (const OptionRow& row : option_rows()) {
            if (takes(row, name)) {
                text += fish_option(row, when);
            }
        }
    }
    return text;
}

namespace {

// A dash that can be typed, no line that begins as a request, no backslash that is one.
std::string roff(std::string_view text) {
    std::string safe;
    for (const char c : text) {
        safe += c == '\\' ? "\\e" : c == '-' ? "\\-" : std::string(1, c);
    }
    return !safe.empty() && (safe[0] == '.' || safe[0] == '\'') ? "\\&" + safe : safe;
}

}  // namespace

std::string man_page(const std::vector<Command>& commands) {
    std::string text =
        ".TH CAVIGRAM 1 \"\" \"cavigram " CAVIGRAM_VERSION
        "\" \"User commands\"\n"
        ".SH NAME\ncavigram \\- a part's mesh in; grams, vents and a pour plan out\n"
        ".SH SYNOPSIS\n.B cavigram\n.I COMMAND\n.RI [ PART ]\n.RI [ options ]\n"
        ".SH DESCRIPTION\nFor people who cast self\\-skinning flexible foam parts, and other "
        "pourable parts, in molds that they make themselves. Each command is a stage of the job;\n"
        ".B plan\ndoes all of it into one folder.\n"
        ".PP\nQuantities take a unit: 14in, 355mm, 8lb/ft3, 68F, 150g. A number with the wrong "
        "kind of unit is refused.\n.SH COMMANDS\n";
    for (const Command& command : commands) {
        if (command.run) {
            text += fmt::format(".TP\n.B {}\n{}.\n", roff(command.name), roff(command.help));
        }
    }
    text +=
        ".SH OPTIONS\nValues are examples. In a job file (see \\-\\-job) the names stand without "
        "dashes.\n";
    const char* group = "";
    for (const OptionRow& row : option_rows()) {
        if (row.positional) {
            continue;
        }
        if (to_text(row.group) != std::string_view(group)) {
            group = to_text(row.group);
            text += fmt::format(".SS {}\n", group);
        }
        text +=
            fmt::format(".TP\n.B {}{}\n{}{}. Taken by {}.\n", roff("--" + std::string(row.name)),
                        row.value.flag ? "" : " \\fI" + roff(row.example) + "\\fR", roff(row.help),
                        row.value.list ? "; may be repeated" : "",
                        row.commands == kPart ? "all commands that take a part"
                                              : listed(command_names(row.commands), "and"));
    }
    return text +
           ".SH EXIT STATUS\n"
           ".TP\n.B 0\nDone.\n"
           ".TP\n.B 1\nDone, but the part needs attention first: what was found says stop.\n"
           ".TP\n.B 2\nThe call is wrong.\n"
           ".TP\n.B 3\nThe input can't be read or used, or the output can't be written.\n"
           ".TP\n.B 4\nAn internal error.\n"
           ".TP\n.B 130\nStopped.\n"
           ".SH CAUTIONS\nTwo\\-part foams hold isocyanates. Read the supplier's safety sheet, "
           "ventilate, wear what it asks for, and follow local rules.\n";
}

}  // namespace cavigram::program
