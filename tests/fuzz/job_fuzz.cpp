// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstdlib>
#include <iterator>

#include "job.h"
#include "option_table.h"
#include "read_options.h"
#include "targets.h"

namespace fuzz {

// The first byte chooses the command that the job is for.
int fuzz_job(Bytes bytes) {
    // No card and no log of the person who runs this.
    static const int alone = ::setenv("XDG_DATA_HOME", scratch().c_str(), 1) +
                             ::setenv("XDG_CONFIG_HOME", scratch().c_str(), 1);
    static_cast<void>(alone);
    Front front(bytes);
    const auto& commands = cavigram::program::kCommandNames;
    const std::string command = commands[front.byte() % std::size(commands)];
    const auto path = scratch_file("job.toml", text_of(front.rest()));
    result_or_refusal([&] {
        const auto job = cavigram::program::read_job(path.string());
        static_cast<void>(cavigram::program::read_values({}, job, command));
    });
    return 0;
}

}  // namespace fuzz
