// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/molding/rubber_card.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command foams_command() {
    return {
        "foams", "List, show and check foam cards", [](const Options& given, const RunContext&) {
            const std::string& action = given.action;
            const std::string& card = given.shown_card;
            if (action.empty()) {
                throw InvalidInput("foams needs to be told what to do; give list, show or check.");
            }
            if (action == "list") {
                print(foam_list_text());
                return 0;
            }
            if (action != "show" && action != "check") {
                throw InvalidInput("\"" + action +
                                   "\" is nothing that foams does; give list, show or check.");
            }
            if (card.empty()) {
                throw InvalidInput(
                    "No card is given; \"cavigram foams list\" shows those there are.");
            }
            for (const BuiltInRubber& rubber : built_in_rubbers()) {
                if (rubber.name == card && action == "show") {
                    print(rubber.toml);
                    return 0;
                }
            }
            const FoamCard read = load_card(card);
            const auto& built_in = built_in_cards();
            const auto own = std::find_if(built_in.begin(), built_in.end(),
                                          [&](const BuiltInCard& b) { return b.name == card; });
            // A built-in card is shown as the file that a person can copy and fill in.
            print(action == "show" && own != built_in.end() ? own->toml : foam_card_text(read));
            return 0;
        }};
}

}  // namespace cavigram::program
