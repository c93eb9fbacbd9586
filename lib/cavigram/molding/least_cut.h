// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

namespace cavigram {

/// What it costs to put two things on different sides.
struct CutLink {
    std::int32_t a = 0;  ///< One thing.
    std::int32_t b = 0;  ///< Another.
    double price = 0.0;  ///< At least 0, either way around.
};

/// What it costs to put a thing on either side; at least 0.
struct SidePrice {
    double upper = 0.0;  ///< On the upper side.
    double lower = 0.0;  ///< On the lower side.
};

/// Puts each thing on the upper or the lower side so that all prices together are least; true is
/// upper. Where several are least, the one with the fewest on the upper side.
///
/// A minimum cut by augmenting paths from both ends (Boykov & Kolmogorov, IEEE Trans. Pattern Anal.
/// Mach. Intell. 26 (2004) 1124), exact. Mostly near linear in the links; at worst O(n2 links
/// price).
///
/// \pre links name things in range, and no thing twice
[[nodiscard]] std::vector<bool> least_cut(const std::vector<SidePrice>& prices,
                                          const std::vector<CutLink>& links);

/// What a choice of sides costs. O(things + links)
[[nodiscard]] double cut_price(const std::vector<bool>& upper, const std::vector<SidePrice>& prices,
                               const std::vector<CutLink>& links);

}  // namespace cavigram
