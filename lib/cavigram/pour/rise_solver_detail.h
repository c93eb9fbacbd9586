// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <numeric>
#include <vector>

#include "cavigram/core/parallel.h"

namespace cavigram::detail {

/// Large: handing out a loop costs more than some ten thousand cells take.
inline constexpr std::size_t kRiseBlock = 65536;

/// A loop over few is done at once: handing it out would cost more.
template <class Work>
void each(std::size_t count, const RunContext& context, const Work& work) {
    if (count <= kRiseBlock) {
        work(std::size_t{0}, count);
        return;
    }
    for_blocks(count, kRiseBlock, context,
               [&](const Block& block) { work(block.begin, block.end); });
}

/// The same where the work gives back a sum: blocks are added up in their order.
template <class Work>
double sum_each(std::size_t count, const RunContext& context, const Work& work) {
    if (count <= kRiseBlock) {
        return work(std::size_t{0}, count);
    }
    const std::vector<double> parts =
        map_blocks<double>(count, kRiseBlock, context,
                           [&](const Block& block) { return work(block.begin, block.end); });
    return std::accumulate(parts.begin(), parts.end(), 0.0);
}

}  // namespace cavigram::detail
