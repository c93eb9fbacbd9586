// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/parallel.h"

#include <algorithm>
#include <optional>
#include <thread>

#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>

#include "cavigram/core/error.h"

namespace cavigram {

void for_blocks(std::size_t count, std::size_t block_size, const RunContext& context,
                const std::function<void(const Block&)>& work) {
    CAVIGRAM_ASSERT(block_size > 0);
    context.check_stop();
    const std::size_t blocks = block_count(count, block_size);
    const auto run = [&](std::size_t block) {
        // After a stop the rest of the blocks is skipped; the check below turns that into
        // Cancelled.
        if (!context.stop.stop_requested()) {
            work({block * block_size, std::min(count, (block + 1) * block_size), block});
        }
    };
    if (blocks <= 1 || context.threads == 1) {
        for (std::size_t block = 0; block < blocks; ++block) {
            run(block);
        }
    } else {
        // More threads than cores must be allowed for, or the scheduler warns and uses fewer.
        std::optional<tbb::global_control> allowance;
        if (context.threads > static_cast<int>(std::thread::hardware_concurrency())) {
            allowance.emplace(tbb::global_control::max_allowed_parallelism,
                              static_cast<std::size_t>(context.threads));
        }
        tbb::task_arena arena(context.threads > 0 ? context.threads : tbb::task_arena::automatic);
        arena.execute(
            [&] { tbb::parallel_for(std::size_t{0}, blocks, run, tbb::simple_partitioner()); });
    }
    context.check_stop();
}

}  // namespace cavigram
