// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <mutex>
#include <set>
#include <string>
#include <sys/stat.h>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// Names of the unfinished files, for discard_drafts.
struct Drafts {
    std::mutex mutex;
    std::set<std::string> names;
};

Drafts& drafts() {
    static Drafts all;
    return all;
}

// An open file that removes itself unless it was renamed into place.
class Draft {
  public:
    explicit Draft(const std::filesystem::path& target) : target_(target) {
        name_ = (target.parent_path() / ("." + target.filename().string() + ".XXXXXX")).string();
        const std::lock_guard lock(drafts().mutex);
        file_ = ::mkostemp(name_.data(), O_CLOEXEC);
        if (file_ < 0) {
            fail();
        }
        drafts().names.insert(name_);
    }
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;
    ~Draft() {
        if (file_ >= 0) {
            ::close(file_);
            ::unlink(name_.c_str());
            forget();
        }
    }

    void write(std::string_view bytes) {
        while (!bytes.empty()) {
            const ssize_t count = ::write(file_, bytes.data(), bytes.size());
            if (count < 0 && errno != EINTR) {
                fail();
            }
            bytes.remove_prefix(count > 0 ? static_cast<std::size_t>(count) : 0);
        }
    }

    void place() {
        // mkostemp makes a private file; give it what the person's umask would have given.
        const mode_t mask = ::umask(0);
        ::umask(mask);
        if (::fchmod(file_, 0666 & ~mask) != 0 || ::fsync(file_) != 0 ||
            ::rename(name_.c_str(), target_.c_str()) != 0) {
            fail();
        }
        ::close(file_);
        file_ = -1;
        forget();
    }

  private:
    void forget() const {
        const std::lock_guard lock(drafts().mutex);
        drafts().names.erase(name_);
    }

    [[noreturn]] void fail() const {
        throw WriteError(fmt::format("Can't write {}: {}; choose a folder that you may write to.",
                                     target_.string(), std::strerror(errno)));
    }

    std::filesystem::path target_;
    std::string name_;
    int file_ = -1;
};

}  // namespace

void write_file(const std::filesystem::path& path, std::string_view bytes) {
    Draft draft(path);
    draft.write(bytes);
    draft.place();
}

void discard_drafts() {
    const std::lock_guard lock(drafts().mutex);
    for (const std::string& name : drafts().names) {
        ::unlink(name.c_str());
    }
    drafts().names.clear();
}

void make_folder(const std::filesystem::path& path) {
    std::error_code error;
    std::filesystem::create_directories(path, error);
    if (error || !std::filesystem::is_directory(path, error)) {
        throw WriteError(fmt::format(
            "Can't make the folder {}: {}; choose a folder that you may write to.", path.string(),
            error ? error.message().c_str() : "a file of that name is in the way"));
    }
}

}  // namespace cavigram
