// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <dirent.h>
#include <iostream>
#include <new>
#include <numeric>
#include <stdexcept>
#include <stop_token>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>
#include <vector>

#include "cavigram/io/guarded_child_detail.h"

#include "io_tools.h"

using namespace io_test;

namespace {

constexpr ChildLimits kLimits{.memory_bytes = std::uint64_t{1} << 30, .time_s = 60.0};

void say(int answer, std::string_view text) {
    write_all(answer, std::as_bytes(std::span(text)));
}

std::string heard(const ChildAnswer& child) {
    const auto bytes = child.answer.bytes();
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

// No child is left behind, dead or alive.
void check_no_children() {
    CHECK(::waitpid(-1, nullptr, WNOHANG) == -1);
    CHECK(errno == ECHILD);
}

std::ptrdiff_t open_files() {
    return std::distance(std::filesystem::directory_iterator("/proc/self/fd"), {});
}

}  // namespace

TEST_CASE("a child's answer comes back whole, and nothing else of it does") {
    int here = 1;
    const auto files = open_files();
    {
        std::string long_text(3000000, 'x');
        std::iota(long_text.begin(), long_text.end(), '\0');
        const ChildAnswer child = run_in_child(
            [&](int answer) {
                here = 2;
                std::puts("a child's words must not reach the person");
                std::cerr << "nor these\n" << std::flush;
                say(answer, long_text);
            },
            kLimits, {});
        CHECK(child.end == ChildEnd::answered);
        CHECK(heard(child) == long_text);
    }
    CHECK(here == 1);
    CHECK(open_files() == files);
    check_no_children();
}

TEST_CASE("however a child ends, the parent lives and is told how") {
    struct Row {
        const char* what;
        std::function<void(int)> work;
        ChildEnd end;
        const char* how;
    };
    const std::vector<Row> rows = {
        {"abort", [](int) { std::abort(); }, ChildEnd::crashed, "signal 6"},
        {"segmentation fault", [](int) { std::raise(SIGSEGV); }, ChildEnd::crashed, "signal 11"},
        {"bus error", [](int) { std::raise(SIGBUS); }, ChildEnd::crashed, "signal 7"},
        {"an exception", [](int) { throw std::runtime_error("no"); }, ChildEnd::crashed,
         "exit status 98"},
        {"an exception that nobody knows", [](int) { throw 7; }, ChildEnd::crashed,
         "exit status 98"},
        {"exit with a status", [](int) { ::_exit(3); }, ChildEnd::crashed, "exit status 3"},
        {"half an answer, then a crash",
         [](int answer) {
             say(answer, "half");
             std::abort();
         },
         ChildEnd::crashed, "signal 6"},
        {"killed by the kernel for want of memory", [](int) { std::raise(SIGKILL); },
         ChildEnd::out_of_memory, "signal 9"},
        {"bad_alloc", [](int) { throw std::bad_alloc(); }, ChildEnd::out_of_memory,
         "exit status 97"},
        {"processor time", [](int) { std::raise(SIGXCPU); }, ChildEnd::out_of_time, "signal 24"},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        const ChildAnswer child = run_in_child(row.work, kLimits, {});
        CHECK(child.end == row.end);
        CHECK(child.how == row.how);
        CHECK(heard(child).empty());
    }
    check_no_children();
}

TEST_CASE("an answer that the kernel won't seal comes back as a copy that nobody changes") {
    // A writable mapping that a grandchild keeps makes sealing fail (fcntl(2): EBUSY), as pages do
    // that the kernel itself holds on to.
    std::array<int, 2> hold{};
    REQUIRE(::pipe(hold.data()) == 0);
    const ChildAnswer child = run_in_child(
        [&](int answer) {
            say(answer, "as it was");
            auto* const mapped =
                static_cast<char*>(::mmap(nullptr, 9, PROT_WRITE, MAP_SHARED, answer, 0));
            if (::fork() == 0) {
                ::close(hold[1]);
                char end = 0;
                static_cast<void>(!::read(hold[0], &end, 1));
                std::memset(mapped, 'x', 9);
                ::_exit(0);
            }
        },
        kLimits, {});
    CHECK(child.end == ChildEnd::answered);
    CHECK(heard(child) == "as it was");
    ::close(hold[1]);
    ::close(hold[0]);
    ::usleep(50000);
    CHECK(heard(child) == "as it was");
}

TEST_CASE("a child that hangs is ended by the clock, idle or busy") {
    ChildLimits brief = kLimits;
    brief.time_s = 0.2;
    CHECK(run_in_child([](int) { ::pause(); }, brief, {}).end == ChildEnd::out_of_time);
    CHECK(run_in_child(
              [](int) {
                  while (true) {
                      static_cast<void>(::getppid());
                  }
              },
              brief, {})
              .end == ChildEnd::out_of_time);
    check_no_children();
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
TEST_CASE("a child that eats memory is ended by its limit, even if its code swallows bad_alloc") {
    ChildLimits small = kLimits;
    small.memory_bytes = std::uint64_t{64} << 20;
    const auto eat = [](int answer) {
        std::vector<std::vector<char>> eaten;
        try {
            for (int i = 0; i < 1000; ++i) {
                eaten.emplace_back(1 << 20, 'x');
            }
        } catch (const std::exception&) {
        }
        say(answer, "survived");
    };
    CHECK(run_in_child(eat, small, {}).end == ChildEnd::out_of_memory);
    CHECK(heard(run_in_child(
              [](int answer) {
                  const std::vector<char> fits(32 << 20, 'x');
                  say(answer, "fits");
              },
              small, {})) == "fits");
}
#endif

TEST_CASE("an answer longer than the limit ends the child") {
    ChildLimits small = kLimits;
    small.memory_bytes = std::uint64_t{1} << 20;
    const auto flood = [](int answer) {
        const std::string piece(1 << 10, 'x');
        while (true) {
            say(answer, piece);
        }
    };
    CHECK(run_in_child(flood, small, {}).end == ChildEnd::out_of_memory);
}

TEST_CASE("a child has no core file, default signal handlers and no blocked signals") {
    static volatile std::sig_atomic_t handled = 0;
    struct sigaction old {};
    struct sigaction mine {};
    mine.sa_handler = [](int) { handled = 1; };
    ::sigaction(SIGTERM, &mine, &old);
    const ChildAnswer child = run_in_child(
        [](int answer) {
            rlimit core{};
            ::getrlimit(RLIMIT_CORE, &core);
            sigset_t blocked;
            ::sigprocmask(SIG_SETMASK, nullptr, &blocked);
            struct sigaction now {};
            ::sigaction(SIGTERM, nullptr, &now);
            if (core.rlim_max == 0 && sigismember(&blocked, SIGSEGV) == 0 &&
                now.sa_handler == SIG_DFL) {
                say(answer, "clean");
            }
        },
        kLimits, {});
    CHECK(heard(child) == "clean");
    std::raise(SIGTERM);  // The parent's own handler is as it was.
    CHECK(handled == 1);
    ::sigaction(SIGTERM, &old, nullptr);
}

TEST_CASE("a stop kills the child and is passed on") {
    std::stop_source source;
    RunContext context;
    context.stop = source.get_token();
    std::thread stopper([&] {
        ::usleep(100000);
        source.request_stop();
    });
    CHECK_THROWS_AS(static_cast<void>(run_in_child([](int) { ::pause(); }, kLimits, context)),
                    Cancelled);
    stopper.join();
    check_no_children();
    CHECK_THROWS_AS(static_cast<void>(run_in_child([](int) {}, kLimits, context)), Cancelled);
}

TEST_CASE("children work while other threads allocate and compute") {
    std::vector<std::string> answers(8);
    std::vector<std::thread> threads;
    for (std::size_t i = 0; i < answers.size(); ++i) {
        threads.emplace_back([&answers, i] {
            const std::string text = "thread " + std::to_string(i);
            const auto work = [&](int answer) {
                say(answer, std::string(text.rbegin(), text.rend()));
            };
            answers[i] = heard(run_in_child(work, kLimits, {}));
        });
    }
    for (std::thread& thread : threads) {
        thread.join();
    }
    for (std::size_t i = 0; i < answers.size(); ++i) {
        CHECK(answers[i] == std::to_string(i) + " daerht");
    }
    check_no_children();
}
