// SPDX-License-Identifier: GPL-3.0-or-later
#include "work.h"

#include <utility>

namespace cavigram::python {

struct Work::State {
    mutable std::mutex mutex;
    std::condition_variable changed;
    std::vector<Progress> told;
    bool ended = false;
    std::exception_ptr error;
    std::stop_source stop;
};

namespace {

// A thread that was left. A process must not end while it still uses what that tears down.
struct Left {
    std::function<bool()> ended;
    std::thread thread;
};

class LeftThreads {
  public:
    void add(Left left) {
        const std::lock_guard lock(mutex_);
        // Those that have ended since give back their stacks.
        std::erase_if(all_, [](Left& one) {
            const bool ended = one.ended();
            if (ended) {
                one.thread.join();
            }
            return ended;
        });
        all_.push_back(std::move(left));
    }
    void wait() {
        const std::lock_guard lock(mutex_);
        for (Left& one : all_) {
            one.thread.join();
        }
        all_.clear();
    }

  private:
    std::mutex mutex_;
    std::vector<Left> all_;
};

LeftThreads& left_threads() {
    static LeftThreads all;
    return all;
}

}  // namespace

Work::Work(std::function<void(const RunContext&)> work, bool listens)
    : state_(std::make_shared<State>()) {
    thread_ = std::thread([state = state_, work = std::move(work), listens]() mutable {
        RunContext context;
        context.stop = state->stop.get_token();
        if (listens) {
            context.progress = [&](std::string_view stage, double share) {
                const std::lock_guard lock(state->mutex);
                if (state->told.empty() || state->told.back().stage != stage) {
                    state->told.push_back({std::string(stage), share});
                }
                state->told.back().share = share;
                state->changed.notify_all();
            };
        }
        std::exception_ptr error;
        try {
            work(context);
        } catch (...) {
            error = std::current_exception();
        }
        work = nullptr;  // lets go of what it used before it counts as ended
        const std::lock_guard lock(state->mutex);
        state->error = std::move(error);
        state->ended = true;
        state->changed.notify_all();
    });
}

Work::~Work() {
    if (ended()) {
        thread_.join();
        return;
    }
    left_threads().add({[state = state_] {
                            const std::lock_guard lock(state->mutex);
                            return state->ended;
                        },
                        std::move(thread_)});
}

std::vector<Progress> Work::wait_for(std::chrono::milliseconds longest) {
    std::unique_lock lock(state_->mutex);
    state_->changed.wait_for(lock, longest, [&] { return state_->ended || !state_->told.empty(); });
    return std::exchange(state_->told, {});
}

bool Work::ended() const {
    const std::lock_guard lock(state_->mutex);
    return state_->ended;
}

void Work::stop() {
    state_->stop.request_stop();
}

void Work::rethrow() const {
    if (state_->error) {
        std::rethrow_exception(state_->error);
    }
}

void wait_for_left_work() {
    left_threads().wait();
}

}  // namespace cavigram::python
