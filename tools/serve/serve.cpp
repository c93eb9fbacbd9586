// SPDX-License-Identifier: GPL-3.0-or-later
#include "serve.h"

#include <cerrno>
#include <condition_variable>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <memory>
#include <mutex>
#include <spawn.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/tally/casting_log.h"

#include "guard.h"
#include "http.h"
#include "private_folder.h"
#include "site.h"
#include "workbench.h"

namespace cavigram::serve {

namespace {

// The desktop's own choice of browser, in a session of its own, so that Ctrl-C here does not end
// it. Where there is none, the printed address is enough.
void open_browser(const std::string& address) {
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_t actions;
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_init(&actions);
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSID | POSIX_SPAWN_SETSIGMASK);
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        posix_spawn_file_actions_addopen(&actions, stream, "/dev/null",
                                         stream == STDIN_FILENO ? 0 /* read */ : 1 /* write */, 0);
    }
    std::string program = "xdg-open";
    std::string word = address;
    char* const words[] = {program.data(), word.data(), nullptr};
    pid_t id = 0;
    if (posix_spawnp(&id, program.c_str(), &actions, &attributes, words, environ) == 0) {
        std::thread([id] {
            int status = 0;
            ::waitpid(id, &status, 0);
        }).detach();
    }
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
}

// Beside the casting log, by the rules of XDG. A user without a home keeps nothing.
std::filesystem::path recent_folder(const ServeOptions& options) {
    try {
        return options.keeps_recent ? usual_log_path().parent_path() / "recent"
                                    : std::filesystem::path();
    } catch (const InvalidInput&) {
        return {};
    }
}

// A browser that was opened needs no printed address; else nobody could come in.
void print_address(const std::string& address, bool is_opened) {
    const std::string text = fmt::format(
        "cavigram serves this machine at {}\nCtrl-C ends it; what is not saved or among the recent "
        "parts is then gone.\n",
        address);
    const bool printed =
        std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0;
    if (!printed && !is_opened) {
        throw WriteError(
            fmt::format("Can't write the page's address to standard output: {}; without it nobody "
                        "could open the page.",
                        std::strerror(errno)));
    }
}

void wait_for(const std::stop_token& stop) {
    std::mutex mutex;
    std::condition_variable_any never;
    std::unique_lock lock(mutex);
    never.wait(lock, stop, [] { return false; });
}

}  // namespace

int serve(const ServeOptions& options, const std::stop_token& stop) {
    PrivateFolder folder(std::filesystem::temp_directory_path());
    Workbench workbench(folder.path(), options.tally, 0);
    auto server = std::make_unique<HttpServer>(options.port);
    const Guard guard(server->port());
    Site site(guard, workbench, folder.path(), recent_folder(options), options.version);
    server->start([&site](const Request& request) { return site.answer(request); });
    const std::string address = guard.address();
    print_address(address, options.open_browser);
    if (options.open_browser) {
        open_browser(address);
    }
    wait_for(stop);
    // Within the grace that a stop has (StopWatch). What does not end by then is left to the
    // system: nothing of it is to be kept.
    constexpr std::chrono::milliseconds kWithin{400};
    const bool ended = workbench.end(kWithin);
    folder.remove();
    if (!ended || server->works()) {
        std::_Exit(0);
    }
    server.reset();  // before what it answers from
    return 0;
}

}  // namespace cavigram::serve
