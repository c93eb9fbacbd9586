// SPDX-License-Identifier: GPL-3.0-or-later
#include "session.h"

#include <csignal>
#include <cstdio>
#include <unistd.h>

#include "cavigram/core/atomic_file.h"

namespace cavigram::program {

namespace {

constexpr auto kGrace = std::chrono::milliseconds(800);

sigset_t stop_signals() {
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGINT);
    sigaddset(&signals, SIGTERM);
    // A terminal that is closed; under nohup the work goes on.
    struct sigaction hangup {};
    if (::sigaction(SIGHUP, nullptr, &hangup) == 0 && hangup.sa_handler == SIG_DFL) {
        sigaddset(&signals, SIGHUP);
    }
    return signals;
}

}  // namespace

StopWatch::StopWatch() {
    const sigset_t signals = stop_signals();
    pthread_sigmask(SIG_BLOCK, &signals, nullptr);
    watcher_ = std::thread([this, signals] {
        const timespec tick{0, 50'000'000};
        while (!done_) {
            if (sigtimedwait(&signals, nullptr, &tick) < 0) {
                continue;
            }
            source_.request_stop();
            const auto until = std::chrono::steady_clock::now() + kGrace;
            while (!done_ && std::chrono::steady_clock::now() < until) {
                std::this_thread::sleep_for(std::chrono::milliseconds(10));
            }
            if (!done_) {
                discard_drafts();
                static constexpr std::string_view kText =
                    "\ncavigram: Stopped as asked; nothing half done was kept.\n";
                static_cast<void>(::write(STDERR_FILENO, kText.data(), kText.size()) + 1);
                ::_exit(130);
            }
        }
    });
}

StopWatch::~StopWatch() {
    done_ = true;
    watcher_.join();
}

void ProgressLine::show(std::string_view phase, double share) {
    const auto now = std::chrono::steady_clock::now();
    // Ten times a second is enough for eyes; a new phase is shown at once.
    if (!shown_ || (phase == phase_ && now - last_ < std::chrono::milliseconds(100))) {
        return;
    }
    last_ = now;
    phase_ = phase;
    std::fprintf(stderr, "\r\033[K%s %3.0f %%", phase_.c_str(), 100.0 * share);
    std::fflush(stderr);
    drawn_ = true;
}

void ProgressLine::clear() {
    if (drawn_) {
        std::fputs("\r\033[K", stderr);
        std::fflush(stderr);
        drawn_ = false;
    }
}

}  // namespace cavigram::program
