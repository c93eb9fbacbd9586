// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/side_by_side.h"

#include <exception>
#include <thread>

namespace cavigram {

void side_by_side(const RunContext& context, const std::function<void(const RunContext&)>& first,
                  const std::function<void(const RunContext&)>& second) {
    context.check_stop();
    const int threads = context.threads > 0 ? context.threads
                                            : static_cast<int>(std::thread::hardware_concurrency());
    if (threads < 2) {
        first(context);
        second(context);
        return;
    }
    RunContext beside;
    beside.threads = threads / 2;
    beside.stop = context.stop;
    RunContext here = context;
    here.threads = threads - beside.threads;
    std::exception_ptr beside_failed;
    std::exception_ptr here_failed;
    {
        const std::jthread other([&] {
            try {
                first(beside);
            } catch (...) {
                beside_failed = std::current_exception();
            }
        });
        try {
            second(here);
        } catch (...) {
            here_failed = std::current_exception();
        }
    }
    for (const std::exception_ptr& failed : {beside_failed, here_failed}) {
        if (failed) {
            std::rethrow_exception(failed);
        }
    }
}

}  // namespace cavigram
