// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "cavigram/foam/card.h"

#include "targets.h"

namespace fuzz {

namespace {

void require_range(const cavigram::Ranged& range) {
    require(range.low <= range.value && range.value <= range.high && range.low >= 0.0 &&
                std::isfinite(range.high),
            "a range holds its value");
}

}  // namespace

int fuzz_foam_card(Bytes bytes) {
    result_or_refusal([&] {
        const cavigram::FoamCard card = cavigram::parse_card(text_of(bytes), "my.toml");
        require(!card.name.empty(), "a card has a name");
        require_range(card.density_kg_m3);
        require_range(card.packing);
        require_range(card.skin_density_kg_m3);
        if (card.skin_thickness_mm) {
            require_range(*card.skin_thickness_mm);
        }
        require(card.liquid_a_kg_m3 > 0.0 && card.liquid_b_kg_m3 > 0.0, "liquids have a density");
        require(card.work_time_s <= card.rise_time_s && card.demold_min_s <= card.demold_max_s,
                "times are in order");
    });
    return 0;
}

}  // namespace fuzz
