// SPDX-License-Identifier: GPL-3.0-or-later
#include "recent.h"

#include <algorithm>
#include <chrono>
#include <ctime>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"

#include "private_folder.h"
#include "target.h"

namespace cavigram::serve {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

constexpr std::size_t kIdBytes = 8;
constexpr const char* kAbout = "about.json";
constexpr const char* kMesh = "mesh";
// What is being made or removed; no id begins so.
constexpr const char* kHalf = "half-";

bool is_id(const std::string& text) {
    return text.size() == 2 * kIdBytes &&
           text.find_first_not_of("0123456789abcdef") == std::string::npos;
}

// Made with its parents, or as it is; whether only this user may enter it.
bool is_private(const fs::path& folder) {
    std::error_code error;
    fs::create_directories(folder.parent_path(), error);
    ::mkdir(folder.c_str(), 0700);
    struct stat about {};
    return ::lstat(folder.c_str(), &about) == 0 && S_ISDIR(about.st_mode) &&
           about.st_uid == ::geteuid() &&
           ((about.st_mode & 0077U) == 0 || ::chmod(folder.c_str(), 0700) == 0);
}

bool same_bytes(const fs::path& one, const fs::path& two) {
    std::ifstream a(one, std::ios::binary);
    std::ifstream b(two, std::ios::binary);
    return a && b &&
           std::equal(std::istreambuf_iterator<char>(a), {}, std::istreambuf_iterator<char>(b), {});
}

std::vector<fs::path> folders_in(const fs::path& folder) {
    std::vector<fs::path> found;
    std::error_code error;
    for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
        if (at->is_directory(error) && !at->is_symlink(error)) {
            found.push_back(at->path());
        }
    }
    return found;
}

std::int64_t now_ms() {
    return std::chrono::duration_cast<std::chrono::milliseconds>(
               std::chrono::system_clock::now().time_since_epoch())
        .count();
}

// Other parts have other ids at the next start.
program::JobValues kept(program::JobValues values) {
    values.erase("also");
    return values;
}

}  // namespace

void share_file(const fs::path& from, const fs::path& to) {
    std::error_code error;
    fs::create_hard_link(from, to, error);
    if (error) {  // on another disk
        fs::copy_file(from, to);
        fs::permissions(to, fs::perms::owner_read | fs::perms::owner_write);
    }
}

Recent::Recent(fs::path folder) : folder_(std::move(folder)) {
    if (!folder_.empty() && !is_private(folder_)) {
        folder_.clear();
    }
    if (keeps()) {
        remove_halves();
    }
}

Recent::~Recent() {
    if (lock_ >= 0) {
        ::close(lock_);
    }
}

// Where no other server runs, nobody makes or removes what is half there; else what is old.
void Recent::remove_halves() {
    constexpr std::time_t kOld_s = 600;
    lock_ = ::open((folder_ / "lock").c_str(), O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0600);
    const bool alone = lock_ >= 0 && ::flock(lock_, LOCK_EX | LOCK_NB) == 0;
    for (const fs::path& path : folders_in(folder_)) {
        struct stat about {};
        const bool half = path.filename().string().rfind(kHalf, 0) == 0;
        if (half && ::lstat(path.c_str(), &about) == 0 &&
            (alone || std::time(nullptr) - about.st_mtime > kOld_s)) {
            std::error_code ignored;
            fs::remove_all(path, ignored);
        }
    }
    if (lock_ >= 0) {
        ::flock(lock_, LOCK_SH);
    }
}

std::optional<RecentPart> Recent::read(const fs::path& folder) const {
    std::ifstream file(folder / kAbout, std::ios::binary);
    const json about = json::parse(std::string{std::istreambuf_iterator<char>(file), {}}, nullptr,
                                   /*allow_exceptions=*/false);
    try {
        RecentPart part;
        part.id = folder.filename().string();
        part.name = shown_name(about.at("name").get<std::string>());
        part.file = folder / (kMesh + safe_extension(part.name));
        part.used_ms = about.at("used_ms").get<std::int64_t>();
        part.values = about.at("options").get<program::JobValues>();
        part.bytes = fs::file_size(part.file);
        return part;
    } catch (const std::exception&) {  // of a later version, or gone meanwhile
        return std::nullopt;
    }
}

void Recent::write_about(const fs::path& folder, const std::string& name,
                         const program::JobValues& values) const {
    // Later than all others, though the clock may have been set back: the oldest go first.
    std::int64_t used_ms = now_ms();
    for (const RecentPart& part : all()) {
        used_ms = std::max(used_ms, part.used_ms + 1);
    }
    const json about = {{"name", name}, {"used_ms", used_ms}, {"options", kept(values)}};
    write_file(folder / kAbout, about.dump(1) + "\n");
    ::chmod((folder / kAbout).c_str(), 0600);
}

std::vector<RecentPart> Recent::all() const {
    std::vector<RecentPart> parts;
    for (const fs::path& folder : keeps() ? folders_in(folder_) : std::vector<fs::path>()) {
        if (is_id(folder.filename().string())) {
            if (std::optional<RecentPart> part = read(folder)) {
                parts.push_back(std::move(*part));
            }
        }
    }
    std::sort(parts.begin(), parts.end(), [](const RecentPart& a, const RecentPart& b) {
        return a.used_ms != b.used_ms ? a.used_ms > b.used_ms : a.id < b.id;
    });
    return parts;
}

std::optional<RecentPart> Recent::find(const std::string& id) const {
    return keeps() && is_id(id) ? read(folder_ / id) : std::nullopt;
}

std::string Recent::keep(const std::string& name, const fs::path& file) {
    const std::uint64_t bytes = fs::file_size(file);
    if (!keeps() || bytes > kMostBytes) {
        return {};
    }
    for (const RecentPart& known : all()) {
        if (known.name == name && known.bytes == bytes && same_bytes(known.file, file)) {
            return known.id;
        }
    }
    make_room(bytes);
    std::string id = random_hex(kIdBytes);
    const fs::path half = folder_ / (kHalf + id);
    try {
        fs::create_directory(half, folder_);  // its mode too
        share_file(file, half / (kMesh + safe_extension(name)));
        write_about(half, name, {});
        fs::rename(half, folder_ / id);
    } catch (const fs::filesystem_error& error) {
        std::error_code ignored;
        fs::remove_all(half, ignored);
        throw WriteError(
            fmt::format("Can't keep {} among the recent parts: {}.", name, error.code().message()));
    }
    return id;
}

void Recent::use(const std::string& id, const std::optional<program::JobValues>& values) noexcept {
    try {
        if (const std::optional<RecentPart> part = find(id)) {
            write_about(folder_ / id, part->name, values.value_or(part->values));
        }
    } catch (const std::exception&) {
        // It stays as it was; nothing rests on it.
        return;
    }
}

void Recent::make_room(std::uint64_t bytes) {
    std::uint64_t held = bytes;
    std::size_t count = 1;
    for (const RecentPart& part : all()) {
        held += part.bytes;
        ++count;
        if (held > kMostBytes || count > kMostParts) {
            forget(part.id);
        }
    }
}

void Recent::forget(const std::string& id) {
    if (!keeps() || !is_id(id)) {
        return;
    }
    const fs::path half = folder_ / (kHalf + random_hex(kIdBytes));
    if (::rename((folder_ / id).c_str(), half.c_str()) == 0) {
        std::error_code ignored;
        fs::remove_all(half, ignored);
    }
}

void Recent::forget_all() {
    for (const fs::path& folder : keeps() ? folders_in(folder_) : std::vector<fs::path>()) {
        forget(folder.filename().string());  // also those that this version can't read
    }
}

}  // namespace cavigram::serve
