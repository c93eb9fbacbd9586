// SPDX-License-Identifier: GPL-3.0-or-later
#include "commands.h"
#include "serve.h"

namespace cavigram::program {

Command serve_command() {
    return {"serve", "The whole program as a page in your own browser, on this machine only",
            [](const Options& given, const RunContext& context) {
                return serve::serve({.port = static_cast<std::uint16_t>(given.port),
                                     .open_browser = !given.no_browser,
                                     .tally = given.db,
                                     .keeps_recent = !given.no_recent,
                                     .version = CAVIGRAM_VERSION},
                                    context.stop);
            }};
}

}  // namespace cavigram::program
