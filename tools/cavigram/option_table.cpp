// SPDX-License-Identifier: GPL-3.0-or-later
#include "option_table.h"

#include <algorithm>
#include <charconv>
#include <iterator>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram::program {

CommandSet command_bit(const std::string& name) {
    const auto* const at = std::find(std::begin(kCommandNames), std::end(kCommandNames), name);
    return 1U << static_cast<unsigned>(at - std::begin(kCommandNames));
}

std::vector<std::string> command_names(CommandSet commands) {
    std::vector<std::string> names;
    for (const char* name : kCommandNames) {
        if ((commands & command_bit(name)) != 0) {
            names.emplace_back(name);
        }
    }
    return names;
}

const char* to_text(Group group) {
    switch (group) {
        case Group::part:
            return "What";
        case Group::size:
            return "Size";
        case Group::foam:
            return "Foam";
        case Group::cup:
            return "Cup and scale";
        case Group::room:
            return "Room";
        case Group::mold:
            return "Mold";
        case Group::around:
            return "Around the part";
        case Group::hands:
            return "Your hands";
        case Group::grip:
            return "In the hand";
        case Group::thin:
            return "Thin places";
        case Group::weighed:
            return "Weighed";
        case Group::mending:
            return "Mending";
        case Group::program:
            return "Program";
    }
    return "";
}

const std::vector<OptionRow>& option_rows() {
    static const std::vector<OptionRow> rows = [] {
        std::vector<OptionRow> all;
        for (const auto& some : {part_options(), foam_options(), pouring_options(),
                                 molding_options(), tally_options(), program_options()}) {
            all.insert(all.end(), some.begin(), some.end());
        }
        std::stable_sort(all.begin(), all.end(),
                         [](const OptionRow& a, const OptionRow& b) { return a.group < b.group; });
        return all;
    }();
    return rows;
}

const OptionRow* find_option(const std::string& name) {
    for (const OptionRow& row : option_rows()) {
        if (name == row.name) {
            return &row;
        }
    }
    return nullptr;
}

std::string listed(const std::vector<std::string>& words, const char* last) {
    std::string text = words.front();
    for (std::size_t i = 1; i < words.size(); ++i) {
        text += (i + 1 < words.size() ? ", " : " " + std::string(last) + " ") + words[i];
    }
    return text;
}

std::string range_words(Kind kind, double least, double most) {
    constexpr double kFence = 1e4;
    return to_text(kind) + (most < kFence ? " from " + quantity_text(least, kind, 2) + " to " +
                                                quantity_text(most, kind, 2)
                                          : std::string());
}

std::size_t parse_word(const std::string& text, const std::string& name,
                       const std::vector<std::string>& words) {
    const auto at = std::find(words.begin(), words.end(), text);
    if (at == words.end()) {
        throw InvalidInput(fmt::format("{} is \"{}\"; give {}.", name, text, listed(words, "or")));
    }
    return static_cast<std::size_t>(at - words.begin());
}

int parse_whole(const std::string& text, const std::string& name, int least, int most,
                const char* range) {
    int value = 0;
    const char* const end = text.data() + text.size();
    const auto [rest, error] = std::from_chars(text.data(), end, value);
    if (error == std::errc() && rest == end && value >= least && value <= most) {
        return value;
    }
    const bool number = error != std::errc::invalid_argument && rest == end;
    const char* const quote = number ? "" : "\"";
    throw InvalidInput(fmt::format("{} is {}{}{}; give {}.", name, quote, text, quote, range));
}

}  // namespace cavigram::program
