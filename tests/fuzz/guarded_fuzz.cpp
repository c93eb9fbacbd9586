// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/mesh_reader.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

// The first byte chooses the ending of the file's name. Whatever the importers of others do, the
// guard must end it in a soup or a sentence.
int fuzz_guarded(Bytes bytes) {
    Front front(bytes);
    const auto formats = cavigram::mesh_formats();
    const std::string ending(formats[front.byte() % formats.size()].extension);
    const auto path = scratch_file("mesh." + ending, text_of(front.rest()));
    result_or_refusal([&] {
        cavigram::ReadOptions options;
        options.memory_limit_bytes = std::uint64_t{1} << 30;
        options.time_limit_s = 5.0;
        require_soup(cavigram::read_mesh(path, options));
    });
    std::filesystem::remove(path);
    return 0;
}

}  // namespace fuzz
