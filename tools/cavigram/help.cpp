// SPDX-License-Identifier: GPL-3.0-or-later
#include "help.h"

#include <algorithm>
#include <cctype>
#include <string_view>

#include <fmt/core.h>

#include "option_table.h"

namespace cavigram::program {

namespace {

constexpr std::size_t kWords = 30;  // where the explanations begin

// `text` wrapped behind `left`, its lines beginning at `indent`.
std::string laid_out(const std::string& left, std::size_t indent, std::string_view text,
                     std::size_t columns) {
    std::string page = left;
    if (!left.empty() && left.size() + 1 > indent) {
        page += "\n" + std::string(indent, ' ');
    } else {
        page.resize(indent, ' ');
    }
    const std::size_t room = columns - std::min(indent, columns - 1);
    while (text.size() > room) {
        std::size_t cut = text.rfind(' ', room);
        cut = cut == std::string_view::npos ? std::min(text.find(' '), text.size()) : cut;
        page += std::string(text.substr(0, cut)) + "\n" + std::string(indent, ' ');
        text.remove_prefix(std::min(cut + 1, text.size()));
    }
    return page + std::string(text) + "\n";
}

std::string capitals(std::string word) {
    std::transform(word.begin(), word.end(), word.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    return word;
}

// What a command is about stands first; the rest in the usual order.
Group first_group(const std::string& command) {
    if (command == "inspect") {
        return Group::mending;
    }
    if (command == "thin") {
        return Group::thin;
    }
    if (command == "vent" || command == "orient") {
        return Group::mold;
    }
    if (command == "mold") {
        return Group::around;
    }
    if (command == "bench") {
        return Group::hands;
    }
    if (command == "handle") {
        return Group::grip;
    }
    return command.rfind("tally", 0) == 0 ? Group::weighed : Group::part;
}

std::string group_text(Group group, const std::string& command, std::size_t columns) {
    std::string text;
    for (const OptionRow& row : option_rows()) {
        if (row.group != group || row.positional || (row.commands & command_bit(command)) == 0) {
            continue;
        }
        std::string left = "  --" + std::string(row.name);
        left += row.value.flag ? "" : " " + std::string(row.example);
        text +=
            laid_out(left, kWords,
                     row.help + std::string(row.value.list ? "; may be repeated" : ""), columns);
    }
    return text.empty() ? "" : "\n" + std::string(to_text(group)) + "\n" + text;
}

std::string call_of(const std::string& command) {
    std::string call = "cavigram " + command;
    bool options = false;
    for (const OptionRow& row : option_rows()) {
        if ((row.commands & command_bit(command)) != 0) {
            options = options || !row.positional;
            call += row.positional ? " " + capitals(row.name) : "";
            call += (row.several & command_bit(command)) != 0 ? " ..." : "";
        }
    }
    return call + (options ? " [options]" : "");
}

std::string listed_commands(const std::vector<Command>& commands, const std::string& above,
                            std::size_t columns) {
    constexpr std::size_t kNames = 12;
    std::string text;
    for (const Command& command : commands) {
        const std::size_t space = command.name.find(' ');
        const bool below = space != std::string::npos;
        if (below != !above.empty() || (below && command.name.substr(0, space) != above)) {
            continue;
        }
        text += laid_out("  " + (below ? command.name.substr(space + 1) : command.name), kNames,
                         command.help, columns);
    }
    return text;
}

}  // namespace

std::string program_help(const std::vector<Command>& commands, std::size_t columns) {
    return "cavigram: a part's mesh in; grams, vents and a pour plan out.\n\n"
           "  cavigram plan part.stl --units in --density 9lb/ft3\n\n" +
           listed_commands(commands, "", columns) + "\n" +
           laid_out(
               "", 0,
               "\"cavigram COMMAND --help\" lists a command's options. Quantities take a unit: "
               "14in, 355mm, 8lb/ft3, 68F, 150g. --version tells which program this is.",
               columns) +
           laid_out("", 0,
                    "Exit status: 0 done; 1 done, but the part needs attention first; 2 wrong "
                    "call; 3 input unusable; 4 internal error; 130 stopped.",
                    columns);
}

std::string command_help(const std::vector<Command>& commands, const std::string& name,
                         std::size_t columns) {
    const auto at = std::find_if(commands.begin(), commands.end(),
                                 [&](const Command& command) { return command.name == name; });
    std::string text = laid_out("", 0, at->help + ".", columns) + "\n";
    if (!at->run) {
        return text + "  cavigram " + name + " COMMAND\n\n" +
               listed_commands(commands, name, columns) + "\n" +
               laid_out("", 0, "\"cavigram " + name + " COMMAND --help\" lists its options.",
                        columns);
    }
    text += "  " + call_of(name) + "\n";
    for (const OptionRow& row : option_rows()) {
        if (row.positional && (row.commands & command_bit(name)) != 0) {
            text += laid_out("  " + capitals(row.name), kWords,
                             row.help + (", such as " + std::string(row.example)), columns);
        }
    }
    const Group first = first_group(name);
    text += group_text(first, name, columns);
    for (int i = 0; i <= static_cast<int>(Group::program); ++i) {
        const auto group = static_cast<Group>(i);
        text += group == first ? "" : group_text(group, name, columns);
    }
    return text + "\n" + laid_out("", 0, "The values shown are examples.", columns);
}

}  // namespace cavigram::program
