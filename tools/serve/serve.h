// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <stop_token>
#include <string>

namespace cavigram::serve {

/// How the server is started.
struct ServeOptions {
    std::uint16_t port = 0;  ///< 0: one that is free.
    bool open_browser = true;
    std::string tally;         ///< The casting log's file; empty: the usual one.
    bool keeps_recent = true;  ///< Parts stay on the machine for the next start.
    std::string version;       ///< The program's.
};

/// Serves until a stop is asked for, which is how it ends: exit status 0. Prints its address to
/// standard output. Nothing is left behind. \throw WriteError if the port is taken or there is no
/// place for temporary files
int serve(const ServeOptions& options, const std::stop_token& stop);

}  // namespace cavigram::serve
