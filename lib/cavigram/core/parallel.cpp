// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

#ifdef __SANITIZE_THREAD__

// oneTBB is not built for ThreadSanitizer, which can't see that what was written before a task is
// there within it, and takes every task for a race. Threads of the standard library it knows. They
// take blocks one by one with no order among them that could hide a race.
void share_out(std::size_t blocks, int threads, const std::function<void(std::size_t)>& run) {
    std::atomic<std::size_t> next{0};
    std::mutex mutex;
    std::exception_ptr first;
    const auto take = [&] {
        try {
            for (std::size_t block = next.fetch_add(1, std::memory_order_relaxed); block < blocks;
                 block = next.fetch_add(1, std::memory_order_relaxed)) {
                run(block);
            }
        } catch (...) {
            next.store(blocks, std::memory_order_relaxed);
            const std::lock_guard lock(mutex);
            first = first ? first : std::current_exception();
        }
    };
    constexpr int kAutomatic = 4;
    std::vector<std::thread> others;
    for (int i = 1; i < (threads > 0 ? threads : kAutomatic); ++i) {
        others.emplace_back(take);
    }
    take();
    for (std::thread& other : others) {
        other.join();
    }
    if (first) {
        std::rethrow_exception(first);
    }
}

#else

void share_out(std::size_t blocks, int threads, const std::function<void(std::size_t)>& run) {
    // More threads than cores must be allowed for, or the scheduler warns and uses fewer.
    std::optional<tbb::global_control> allowance;
    if (threads > static_cast<int>(std::thread::hardware_concurrency())) {
        allowance.emplace(tbb::global_control::max_allowed_parallelism,
                          static_cast<std::size_t>(threads));
    }
    tbb::task_arena arena(threads > 0 ? threads : tbb::task_arena::automatic);
    arena.execute(
        [&] { tbb::parallel_for(std::size_t{0}, blocks, run, tbb::simple_partitioner()); });
}

#endif

}  // namespace

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
        share_out(blocks, context.threads, run);
    }
    context.check_stop();
}

}  // namespace cavigram
