// SPDX-License-Identifier: GPL-3.0-or-later
#include "terminal.h"

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace cavigram::program {

namespace {

constexpr std::size_t kFewest = 40;
constexpr std::size_t kMost = 100;        // longer lines are hard to follow
constexpr std::size_t kOfTerminals = 80;  // where one does not say

// What COLUMNS says; 0: nothing.
std::size_t asked_columns() {
    const char* const text = std::getenv("COLUMNS");
    std::size_t columns = 0;
    if (text != nullptr) {
        const char* const end = text + std::strlen(text);
        const auto [rest, error] = std::from_chars(text, end, columns);
        columns = error == std::errc() && rest == end ? columns : 0;
    }
    return columns;
}

std::size_t terminal_columns() {
    winsize size{};
    return ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col
                                                                             : kOfTerminals;
}

}  // namespace

bool on_terminal() {
    return ::isatty(STDOUT_FILENO) == 1;
}

TextStyle output_style(const TextStyle& asked) {
    TextStyle layout = asked;
    layout.pour_last = on_terminal();
    const std::size_t columns = asked_columns();
    layout.columns = columns > 0 ? columns : layout.pour_last ? terminal_columns() : layout.columns;
    layout.columns = std::clamp(layout.columns, kFewest, kMost);
    return layout;
}

void guard_streams() {
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        if (::fcntl(stream, F_GETFD) < 0) {
            // The lowest free number is this stream's. Not to be written to: what is printed must
            // fail as it would have.
            static_cast<void>(::open("/dev/null", O_RDONLY));
        }
    }
}

}  // namespace cavigram::program
