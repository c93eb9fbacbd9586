// SPDX-License-Identifier: GPL-3.0-or-later
#include "changes.h"

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/foam/card.h"
#include "cavigram/molding/rubber_card.h"

namespace cavigram::serve {

using nlohmann::json;

namespace {

std::vector<std::string> words_of(const program::OptionRow& row) {
    std::vector<std::string> words = row.value.words;
    if (row.name == std::string("foam")) {
        words = own_card_names();
        for (const BuiltInCard& card : built_in_cards()) {
            words.push_back(card.name);
        }
    } else if (row.name == std::string("rubber-card")) {
        for (const BuiltInRubber& card : built_in_rubbers()) {
            words.push_back(card.name);
        }
    }
    return words;
}

}  // namespace

std::map<std::string, std::vector<std::string>> changes_of(
    const std::string& body, const std::function<bool(const std::string& option)>& settable) {
    const json asked = json::parse(body, nullptr, false);
    if (!asked.is_object()) {
        throw InvalidInput("The change of options can't be understood; reload the page.");
    }
    std::map<std::string, std::vector<std::string>> changes;
    for (const auto& [name, value] : asked.items()) {
        if (!settable(name)) {
            throw InvalidInput(fmt::format("{} can't be set here.", name));
        }
        std::vector<std::string>& texts = changes[name];
        for (const json& text : value.is_null() ? json::array() : value) {
            if (!text.is_string()) {
                throw InvalidInput(fmt::format("{} must be a list of texts.", name));
            }
            texts.push_back(text.get<std::string>());
        }
        if (texts.size() > 1 && !program::find_option(name)->value.list) {
            throw InvalidInput(fmt::format("{} takes one value.", name));
        }
    }
    return changes;
}

json row_json(const program::OptionRow& row) {
    return {{"name", row.name},       {"group", program::to_text(row.group)},
            {"help", row.help},       {"takes", row.value.kind},
            {"example", row.example}, {"flag", row.value.flag},
            {"list", row.value.list}, {"words", words_of(row)}};
}

}  // namespace cavigram::serve
