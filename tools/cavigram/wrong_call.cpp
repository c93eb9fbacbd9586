// SPDX-License-Identifier: GPL-3.0-or-later
#include "wrong_call.h"

#include <algorithm>
#include <iterator>

#include <fmt/core.h>

#include "cavigram/core/text.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

using Words = std::vector<std::string>;

std::string did_you_mean(const std::string& word, const Words& known) {
    const std::string nearest = nearest_word(word, known);
    return nearest.empty() ? "" : "; did you mean " + nearest + "?";
}

// The command's name in the table, `tally add` for both words; empty if there is none.
std::string command_of(const Words& arguments) {
    const Words names(std::begin(kCommandNames), std::end(kCommandNames));
    for (std::size_t count : {1U, 2U}) {
        std::string name;
        for (std::size_t i = 0; i < std::min(count, arguments.size()); ++i) {
            name += (i > 0 ? " " : "") + arguments[i];
        }
        if (std::find(names.begin(), names.end(), name) != names.end()) {
            return name;
        }
    }
    return "";
}

std::string no_command(const Words& arguments) {
    Words first;  // `tally`, once, for all that begins with it
    for (const std::string name : kCommandNames) {
        const std::string word = name.substr(0, name.find(' '));
        if (first.empty() || first.back() != word) {
            first.push_back(word);
        }
    }
    if (!arguments.empty() && arguments.front() == "tally") {
        return "tally needs to be told what to do; give add, list, correct, remove, undo, fit or "
               "export.";
    }
    const std::string lists = "; \"cavigram --help\" lists the commands.";
    return arguments.empty() || arguments.front().rfind('-', 0) == 0
               ? "No command is given" + lists
               : "\"" + arguments.front() + "\" is no command" +
                     did_you_mean(arguments.front(), first) + lists;
}

// The first option that this command does not take. Empty: it takes all of them.
std::string stray_option(const Words& arguments, const std::string& command) {
    Words names;
    for (const OptionRow& row : option_rows()) {
        names.push_back("--" + std::string(row.name));
    }
    for (const std::string& argument : arguments) {
        const std::string name = argument.substr(0, argument.find('='));
        const OptionRow* row = name.rfind("--", 0) == 0 ? find_option(name.substr(2)) : nullptr;
        if (name.rfind("--", 0) != 0 || name == "--help" ||
            (row != nullptr && (row->commands & command_bit(command)) != 0)) {
            continue;
        }
        const std::string what = row == nullptr
                                     ? " is no option" + did_you_mean(name, names)
                                     : fmt::format(" is no option of {}, but of {}", command,
                                                   listed(command_names(row->commands), "and"));
        return fmt::format("{}{}; \"cavigram {} --help\" lists {}.", name, what, command,
                           row == nullptr ? "them" : "those it has");
    }
    return "";
}

// An option without its value, or one given twice.
std::string odd_count(const std::string& message, const Words& arguments) {
    const std::string name = message.substr(0, message.find(':'));
    const OptionRow* row = name.rfind("--", 0) == 0 ? find_option(name.substr(2)) : nullptr;
    if (row == nullptr) {
        return "";
    }
    const auto same = [&](const std::string& argument) {
        return argument == name || argument.rfind(name + "=", 0) == 0;
    };
    return std::count_if(arguments.begin(), arguments.end(), same) > 1
               ? name + " is given more than once; give it once."
               : name + " needs a value, such as " + row->example + ".";
}

// Words that are one too many, and options by a letter.
std::string surplus(const std::string& message, const std::string& command) {
    const std::string words = message.substr(message.find(": ") + 2);
    const std::string lists = "; \"cavigram " + command + " --help\" lists what it takes.";
    if (words.rfind('-', 0) == 0) {
        return "\"" + words + "\" is no option of " + command +
               "; options are whole words behind two dashes, such as --quiet" + lists;
    }
    return (command_bit(command) & kPart) != 0
               ? command + " takes one mesh file, and \"" + words +
                     "\" is one too many; give values behind their options" +
                     ((command_bit(command) & kGrams) != 0
                          ? ", and more parts from one cup by --also"
                          : "") +
                     lists
               : "\"" + words + "\" is more than " + command + " takes" + lists;
}

}  // namespace

std::string wrong_call(const CLI::ParseError& error, const Words& arguments) {
    const std::string command = command_of(arguments);
    std::string sentence;
    if (command.empty()) {
        sentence = no_command(arguments);
    } else if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
        sentence = odd_count(error.what(), arguments);
    } else if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr) {
        sentence = stray_option(arguments, command);
        sentence = sentence.empty() ? surplus(error.what(), command) : sentence;
    }
    if (sentence.empty()) {
        sentence = error.what();
        std::replace(sentence.begin(), sentence.end(), '\n', ' ');
        sentence += "; \"cavigram --help\" tells what there is.";
    }
    return sentence;
}

}  // namespace cavigram::program
