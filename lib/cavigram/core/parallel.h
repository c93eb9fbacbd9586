// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "cavigram/core/run_context.h"

namespace cavigram {

/// A run of indices [begin, end), the number `block` of its kind.
struct Block {
    std::size_t begin = 0;  ///< First index.
    std::size_t end = 0;    ///< One past the last.
    std::size_t block = 0;  ///< Its number, from 0.
};

/// Number of blocks of `block_size` that cover `count` indices.
[[nodiscard]] constexpr std::size_t block_count(std::size_t count, std::size_t block_size) {
    return (count + block_size - 1) / block_size;
}

/// Calls `work` once for each block of fixed size, on the context's threads, in no set order.
///
/// Blocks are cut by `block_size` alone, never by the number of threads, so sums made per block and
/// joined in block order are the same bytes on any machine. `work` must write only to what belongs
/// to its block. An exception in `work` ends the loop and is passed on. A stop is noticed between
/// blocks.
///
/// \pre block_size > 0.
///
/// \throw Cancelled
void for_blocks(std::size_t count, std::size_t block_size, const RunContext& context,
                const std::function<void(const Block&)>& work);

/// As for_blocks, and gives back what each block returned, in block order.
template <class Result, class Work>
[[nodiscard]] std::vector<Result> map_blocks(std::size_t count, std::size_t block_size,
                                             const RunContext& context, const Work& work) {
    std::vector<Result> results(block_count(count, block_size));
    for_blocks(count, block_size, context,
               [&](const Block& block) { results[block.block] = work(block); });
    return results;
}

}  // namespace cavigram
