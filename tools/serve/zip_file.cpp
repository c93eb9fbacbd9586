// SPDX-License-Identifier: GPL-3.0-or-later
#include "zip_file.h"

#include <memory>

#include <fmt/core.h>
#include <zip.h>

#include "cavigram/core/error.h"

namespace cavigram::serve {

namespace {

[[noreturn]] void refuse(const char* why) {
    throw WriteError(
        fmt::format("Can't make the ZIP archive: {}; save the files one by one.", why));
}

struct FreeSource {
    void operator()(zip_source_t* source) const { zip_source_free(source); }
};
struct DiscardArchive {
    void operator()(zip_t* archive) const { zip_discard(archive); }
};

}  // namespace

std::string zip_file(const std::string& folder,
                     const std::vector<std::pair<std::string, std::string>>& files) {
    const std::unique_ptr<zip_source_t, FreeSource> memory(
        zip_source_buffer_create(nullptr, 0, 0, nullptr));
    if (!memory) {
        refuse("there is no memory for it");
    }
    zip_source_keep(memory.get());  // the archive takes one hold, and the bytes are read after it
    std::unique_ptr<zip_t, DiscardArchive> archive(
        zip_open_from_source(memory.get(), ZIP_TRUNCATE, nullptr));
    if (!archive) {
        zip_source_free(memory.get());
        refuse("it can't be begun");
    }
    for (const auto& [name, bytes] : files) {
        zip_source_t* const source =
            zip_source_buffer(archive.get(), bytes.data(), bytes.size(), 0);
        const std::string entry = fmt::format("{}{}{}", folder, folder.empty() ? "" : "/", name);
        const zip_int64_t index = source == nullptr ? -1
                                                    : zip_file_add(archive.get(), entry.c_str(),
                                                                   source, ZIP_FL_ENC_UTF_8);
        if (index < 0) {
            zip_source_free(source);
            refuse(zip_strerror(archive.get()));
        }
        // 1 January 1980, midnight, in the format's own form.
        constexpr zip_uint16_t kFirstDay = (1U << 5U) | 1U;
        zip_file_set_dostime(archive.get(), static_cast<zip_uint64_t>(index), 0, kFirstDay, 0);
    }
    if (zip_close(archive.get()) != 0) {
        refuse(zip_strerror(archive.get()));
    }
    static_cast<void>(archive.release());  // closing has freed it
    zip_stat_t about;
    if (zip_source_stat(memory.get(), &about) != 0 || zip_source_open(memory.get()) != 0) {
        refuse("it can't be read back");
    }
    std::string bytes(about.size, '\0');
    const zip_int64_t count = zip_source_read(memory.get(), bytes.data(), bytes.size());
    zip_source_close(memory.get());
    if (count != static_cast<zip_int64_t>(bytes.size())) {
        refuse("it can't be read back");
    }
    return bytes;
}

}  // namespace cavigram::serve
