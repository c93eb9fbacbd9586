// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/rubber_card.h"

#include "targets.h"

namespace fuzz {

int fuzz_rubber_card(Bytes bytes) {
    result_or_refusal([&] {
        const cavigram::RubberCard card = cavigram::parse_rubber_card(text_of(bytes), "my.toml");
        require(!card.name.empty(), "a card has a name");
        require(card.density_kg_m3 > 0.0, "a rubber has a density");
        require(card.mix.a > 0.0 && card.mix.b > 0.0, "both parts of a mix are positive");
        require(card.shrinkage_share.low <= card.shrinkage_share.high, "a range is in order");
    });
    return 0;
}

}  // namespace fuzz
