// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "cavigram/core/quantity.h"
#include "cavigram/core/told.h"

#include "targets.h"

namespace fuzz {

int fuzz_quantity(Bytes bytes) {
    using namespace cavigram;
    Front front(bytes);
    const unsigned chosen = front.byte() % 14;
    const std::string_view text = text_of(front.rest());
    if (chosen == 12) {
        result_or_refusal([&] {
            const MixRatio mix = parse_mix_ratio(text, "--mix");
            require(mix.a > 0.0 && mix.b > 0.0 && std::isfinite(mix.a) && std::isfinite(mix.b),
                    "both parts of a mix are positive and finite");
        });
        return 0;
    }
    if (chosen == 13) {  // a sentence with marks, damaged
        std::string joined;
        for (const ToldPiece& piece : told_pieces(text)) {
            joined += piece.text;
        }
        static_cast<void>(rendered(text, UnitSystem::us));
        return 0;
    }
    const auto kind = static_cast<Kind>(chosen);
    result_or_refusal([&] {
        const double value = parse_quantity(text, kind, "--density");
        require(std::isfinite(value), "a quantity is finite");
        require(!quantity_text(value, kind).empty(), "a quantity can be written");
        constexpr double kMost = 10.0;
        const double within = parse_quantity(text, kind, "--density", 0.0, kMost);
        require(within >= 0.0 && within <= kMost, "a quantity is within its limits");
    });
    return 0;
}

}  // namespace fuzz
