// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/card_reader.h"

#include <algorithm>
#include <set>
#include <utility>

#include <fmt/core.h>
#include <toml++/toml.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

struct CardReader::Document {
    toml::table table;
    std::set<std::string> known;

    toml::node_view<const toml::node> look_up(const std::string& key) {
        known.insert(key);
        return std::as_const(table).at_path(key);
    }
};

CardReader::CardReader(std::string_view toml_text, std::string origin, CardKind kind)
    : document_(std::make_unique<Document>()), origin_(std::move(origin)), kind_(std::move(kind)) {
    try {
        document_->table = toml::parse(toml_text);
    } catch (const toml::parse_error& error) {
        throw InvalidInput(fmt::format("{} is no valid TOML at line {}: {}; correct that line.",
                                       origin_, static_cast<unsigned>(error.source().begin.line),
                                       std::string(error.description())));
    }
}

CardReader::~CardReader() = default;

std::string CardReader::text(const std::string& key, const std::string& absent) {
    const toml::node_view<const toml::node> node = document_->look_up(key);
    if (!node) {
        return absent;
    }
    if (!node.is_string()) {
        throw InvalidInput(fmt::format(
            "{} must be text in quotes, with its unit if it is a quantity.", named(key)));
    }
    return node.as_string()->get();
}

std::string CardReader::required(const std::string& key) {
    std::string value = text(key, "");
    if (value.empty()) {
        throw InvalidInput(fmt::format(
            "{} is missing; add it from your supplier's sheet (\"{}\" prints a whole card).",
            named(key), kind_.shown_by));
    }
    return value;
}

bool CardReader::flag(const std::string& key) {
    const toml::node_view<const toml::node> node = document_->look_up(key);
    if (node && !node.is_boolean()) {
        throw InvalidInput(fmt::format("{} must be true or false, without quotes.", named(key)));
    }
    return node && node.as_boolean()->get();
}

double CardReader::quantity(const std::string& key, Kind kind, double least, double most,
                            double absent) {
    const std::string value = text(key, "");
    return value.empty() ? absent : parse_quantity(value, kind, named(key), least, most);
}

double CardReader::required_quantity(const std::string& key, Kind kind, double least, double most) {
    return parse_quantity(required(key), kind, named(key), least, most);
}

Ranged CardReader::ranged(const std::string& key, const std::string& bound, Kind kind, double least,
                          double most, double spread) {
    Ranged range;
    range.value = required_quantity(key, kind, least, most);
    range.low = quantity(bound + "low", kind, least, most, std::max(least, range.value / spread));
    range.high = quantity(bound + "high", kind, least, most, std::min(most, range.value * spread));
    if (range.low > range.value || range.high < range.value) {
        throw InvalidInput(fmt::format(
            "{} does not lie between its own low and high; correct one of the three.", named(key)));
    }
    return range;
}

std::optional<double> CardReader::number(const std::string& key, double least, double most) {
    const toml::node_view<const toml::node> node = document_->look_up(key);
    if (!node) {
        return std::nullopt;
    }
    const std::optional<double> value = node.value<double>();
    if (node.is_string() || !value || !(*value >= least && *value <= most)) {
        throw InvalidInput(fmt::format("{} must be a number from {:g} to {:g}, without quotes.",
                                       named(key), least, most));
    }
    return value;
}

std::string CardReader::named(const std::string& key) const {
    return key + " in " + origin_;
}

void CardReader::refuse_unknown() const {
    document_->table.for_each([&](const toml::key& key, const auto& node) {
        const std::string name(key.str());
        if constexpr (toml::is_table<decltype(node)>) {
            node.for_each([&](const toml::key& inner, const auto&) {
                check_known(name + "." + std::string(inner.str()));
            });
        } else {
            check_known(name);
        }
    });
}

void CardReader::check_known(const std::string& key) const {
    const std::set<std::string>& known = document_->known;
    if (known.count(key) != 0) {
        return;
    }
    const std::string nearest = nearest_word(key, {known.begin(), known.end()});
    throw InvalidInput(fmt::format("{} is no key of a {}{}{}{}; correct or remove it.", named(key),
                                   kind_.name, nearest.empty() ? "" : "; did you mean ", nearest,
                                   nearest.empty() ? "" : "?"));
}

}  // namespace cavigram
