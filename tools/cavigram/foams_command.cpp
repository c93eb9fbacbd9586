// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command add_foams(CLI::App& app, Options& options) {
    CLI::App* command = app.add_subcommand("foams", "List, show and check foam cards");
    static_cast<void>(options);
    auto action = std::make_shared<std::string>();
    auto card = std::make_shared<std::string>();
    command->add_option("action", *action, "list, show or check")->required();
    command->add_option("card", *card, "A card's name, or a TOML file");
    return {
        command, [action, card](const Options&, const RunContext&) {
            if (*action == "list") {
                print(foam_list_text());
                return 0;
            }
            if (*action != "show" && *action != "check") {
                throw InvalidInput("\"" + *action +
                                   "\" is nothing that foams does; give list, show or check.");
            }
            if (card->empty()) {
                throw InvalidInput(
                    "No card is given; \"cavigram foams list\" shows those there are.");
            }
            const FoamCard read = load_card(*card);
            const auto& built_in = built_in_cards();
            const auto own = std::find_if(built_in.begin(), built_in.end(),
                                          [&](const BuiltInCard& b) { return b.name == *card; });
            // A built-in card is shown as the file that a person can copy and fill in.
            print(*action == "show" && own != built_in.end() ? own->toml : foam_card_text(read));
            return 0;
        }};
}

}  // namespace cavigram::program
