// SPDX-License-Identifier: GPL-3.0-or-later
// Reads sentences in pieces, a JSON list on each line, and writes each twice: metric first, then
// US.
#include <algorithm>
#include <array>
#include <iostream>
#include <string>

#include <nlohmann/json.hpp>

#include "cavigram/core/told.h"

namespace {

using namespace cavigram;

constexpr std::array kKinds = {
    std::pair{"length", Kind::length},           std::pair{"area", Kind::area},
    std::pair{"volume", Kind::volume},           std::pair{"mass", Kind::mass},
    std::pair{"density", Kind::density},         std::pair{"areal_density", Kind::areal_density},
    std::pair{"temperature", Kind::temperature}, std::pair{"pressure", Kind::pressure}};
constexpr std::array kTellings = {std::pair{"pair", Telling::pair},
                                  std::pair{"single", Telling::single},
                                  std::pair{"number", Telling::number},
                                  std::pair{"other_single", Telling::other_single},
                                  std::pair{"other_number", Telling::other_number},
                                  std::pair{"drill", Telling::drill}};

template <class List>
auto named(const List& list, const std::string& name) {
    return std::find_if(list.begin(), list.end(),
                        [&](const auto& one) { return one.first == name; })
        ->second;
}

std::string sentence(const nlohmann::json& pieces) {
    std::string text;
    for (const auto& piece : pieces) {
        if (piece.is_string()) {
            text += piece.get<std::string>();
        } else if (piece.contains("setting")) {
            text += setting(piece["setting"].get<std::string>());
        } else if (piece.contains("at_mm")) {
            const auto& at = piece["at_mm"];
            text += told_place(at[0], at[1], at[2]);
        } else {
            text += told(piece["value"], named(kKinds, piece["kind"]), piece["digits"],
                         named(kTellings, piece["telling"]));
        }
    }
    return text;
}

}  // namespace

int main() {
    std::string line;
    while (std::getline(std::cin, line)) {
        const std::string told = sentence(nlohmann::json::parse(line));
        std::cout << rendered(told, UnitSystem::metric) << '\n'
                  << rendered(told, UnitSystem::us) << '\n';
    }
}
