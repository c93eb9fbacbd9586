// SPDX-License-Identifier: GPL-3.0-or-later
#include "private_folder.h"

#include <cerrno>
#include <cstring>
#include <ctime>
#include <fcntl.h>
#include <string>
#include <sys/file.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram::serve {

namespace fs = std::filesystem;

namespace {

constexpr const char* kPrefix = "cavigram-serve-";
constexpr const char* kNew = ".new";  // until its lock is held
constexpr const char* kLock = "lock";

// Locked by this process, or -1.
int locked(const fs::path& file, int flags) {
    const int lock = ::open(file.c_str(), flags | O_RDWR | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (lock >= 0 && ::flock(lock, LOCK_EX | LOCK_NB) == 0) {
        return lock;
    }
    if (lock >= 0) {
        ::close(lock);
    }
    return -1;
}

bool is_ours(const fs::path& folder, struct stat& about) {
    return ::lstat(folder.c_str(), &about) == 0 && S_ISDIR(about.st_mode) &&
           about.st_uid == ::geteuid();
}

// One that is being made has no lock yet; after so long nobody makes it any more.
bool is_old(const struct stat& about) {
    constexpr std::time_t kSeconds = 600;
    return std::time(nullptr) - about.st_mtime > kSeconds;
}

void remove_dead(const fs::path& above) {
    std::error_code error;
    std::vector<fs::path> found;
    for (fs::directory_iterator at(above, error), end; !error && at != end; at.increment(error)) {
        if (at->path().filename().string().rfind(kPrefix, 0) == 0) {
            found.push_back(at->path());
        }
    }
    for (const fs::path& folder : found) {
        struct stat about {};
        if (!is_ours(folder, about)) {
            continue;
        }
        const int lock = locked(folder / kLock, 0);
        const bool unheld = lock >= 0 || !fs::exists(folder / kLock, error);
        const bool finished = lock >= 0 && folder.extension() != kNew;
        if (unheld && (finished || is_old(about))) {
            fs::remove_all(folder, error);
        }
        if (lock >= 0) {
            ::close(lock);
        }
    }
}

}  // namespace

std::string random_hex(std::size_t bytes) {
    std::vector<unsigned char> random(bytes);
    if (::getrandom(random.data(), bytes, 0) != static_cast<ssize_t>(bytes)) {
        throw WriteError(fmt::format("The system gives no random numbers: {}; try again later.",
                                     std::strerror(errno)));
    }
    std::string text;
    for (const unsigned char byte : random) {
        text += fmt::format("{:02x}", byte);
    }
    return text;
}

PrivateFolder::PrivateFolder(const fs::path& above) {
    remove_dead(above);
    constexpr std::size_t kNameBytes = 8;
    path_ = above / (kPrefix + random_hex(kNameBytes));
    const fs::path unfinished = path_.string() + kNew;
    const auto refuse = [&](const char* what) {
        throw WriteError(
            fmt::format("Can't {} a private folder in {}: {}; set TMPDIR to a folder "
                        "that can be written to.",
                        what, above.string(), std::strerror(errno)));
    };
    if (::mkdir(unfinished.c_str(), 0700) != 0) {
        refuse("make");
    }
    lock_ = locked(unfinished / kLock, O_CREAT | O_EXCL);
    if (lock_ < 0 || ::rename(unfinished.c_str(), path_.c_str()) != 0) {
        refuse("lock");
    }
}

void PrivateFolder::remove() noexcept {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

PrivateFolder::~PrivateFolder() {
    remove();
    ::close(lock_);
}

}  // namespace cavigram::serve
