// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

[[noreturn]] void cant_write(const std::filesystem::path& path, const char* why,
                             const char* remedy = "choose a folder that you may write to") {
    throw WriteError(fmt::format("Can't write {}: {}; {}.", path.string(), why, remedy));
}

// By what the system says: on a full disk another folder of it helps nobody.
[[noreturn]] void cant_write(const std::filesystem::path& path, int error) {
    switch (error) {
        case ENOSPC:
        case EDQUOT:
            cant_write(path, std::strerror(error), "make room there, or choose another disk");
        case EMFILE:
        case ENFILE:
            cant_write(path, std::strerror(error), "close other programs and try again");
        default:
            cant_write(path, std::strerror(error));
    }
}

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
        remove_leftovers();
        // One that a cleaning run took for a leftover, in the moment before it was held, is made
        // anew.
        const std::string pattern = name_;
        do {
            if (file_ >= 0) {
                ::close(file_);
            }
            name_ = pattern;
            file_ = ::mkostemp(name_.data(), O_CLOEXEC);
            if (file_ < 0) {
                fail();
            }
        } while (!held());
        drafts().names.insert(name_);
    }
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;
    ~Draft() {
        if (file_ >= 0) {
            ::close(file_);
            ::unlink(name_.c_str());
            const std::lock_guard lock(drafts().mutex);
            drafts().names.erase(name_);
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

    // Whole and on the disk, but not in its place yet.
    void finish() const {
        // mkostemp makes a private file; give it what the person's umask would have given.
        const mode_t mask = ::umask(0);
        ::umask(mask);
        if (::fchmod(file_, 0666 & ~mask) != 0 || ::fsync(file_) != 0) {
            fail();
        }
    }

    // \pre the drafts are locked, so that discard_drafts takes none of several away
    void place() {
        if (::rename(name_.c_str(), target_.c_str()) != 0) {
            fail();
        }
        ::close(file_);
        file_ = -1;
        drafts().names.erase(name_);
    }

    // What would make renaming fail, asked of all before the first is renamed.
    void check_target() const {
        std::error_code error;
        if (std::filesystem::is_directory(target_, error)) {
            cant_write(target_, "a folder of that name is in the way");
        }
    }

  private:
    // Holds the file as long as it is open, so that no other run takes it for a leftover. False if
    // one already did.
    [[nodiscard]] bool held() const {
        struct stat status {};
        return ::flock(file_, LOCK_EX | LOCK_NB) == 0 && ::fstat(file_, &status) == 0 &&
               status.st_nlink > 0;
    }

    // Unfinished files of the same target that nobody holds: their runs were killed.
    void remove_leftovers() const {
        const std::string begin = "." + target_.filename().string() + ".";
        constexpr std::size_t kRandom = 6;  // letters that mkostemp puts in
        std::error_code error;
        const std::filesystem::path folder =
            target_.has_parent_path() ? target_.parent_path() : std::filesystem::path(".");
        for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
            const std::string name = entry.path().filename().string();
            if (name.size() != begin.size() + kRandom || name.rfind(begin, 0) != 0) {
                continue;
            }
            const int file = ::open(entry.path().c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
            if (file < 0) {
                continue;
            }
            if (::flock(file, LOCK_EX | LOCK_NB) == 0) {
                ::unlink(entry.path().c_str());
            }
            ::close(file);
        }
    }

    [[noreturn]] void fail() const { cant_write(target_, errno); }

    std::filesystem::path target_;
    std::string name_;
    int file_ = -1;
};

}  // namespace

void write_file(const std::filesystem::path& path, std::string_view bytes) {
    Draft draft(path);
    draft.write(bytes);
    draft.finish();
    const std::lock_guard lock(drafts().mutex);
    draft.place();
}

namespace {

// Held as long as files of one set are put into a folder, so that two programs do so one after the
// other. Where the file system has no such locks, they go without.
class FolderLock {
  public:
    explicit FolderLock(const std::filesystem::path& folder)
        : folder_(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
        if (folder_ >= 0) {
            while (::flock(folder_, LOCK_EX) != 0 && errno == EINTR) {
            }
        }
    }
    FolderLock(const FolderLock&) = delete;
    FolderLock& operator=(const FolderLock&) = delete;
    ~FolderLock() {
        if (folder_ >= 0) {
            ::close(folder_);
        }
    }

  private:
    int folder_;
};

}  // namespace

void write_files(const std::filesystem::path& folder,
                 const std::vector<std::pair<std::string, std::string>>& files,
                 const std::vector<std::string>& outdated) {
    std::vector<std::unique_ptr<Draft>> written;
    written.reserve(files.size());
    for (const auto& [name, bytes] : files) {
        written.push_back(std::make_unique<Draft>(folder / name));
        written.back()->write(bytes);
        written.back()->finish();
        written.back()->check_target();
    }
    const FolderLock alone(folder);
    const std::lock_guard lock(drafts().mutex);
    for (const auto& draft : written) {
        draft->place();
    }
    for (const std::string& name : outdated) {
        ::unlink((folder / name).c_str());
    }
}

namespace {

// Asked by making a file, since permissions alone don't tell (a folder of the system, a full
// disk); one without a name where the file system has such, else one that is gone at once.
bool takes_files(const std::filesystem::path& folder) {
    int file = ::open(folder.c_str(), O_TMPFILE | O_WRONLY | O_CLOEXEC, 0600);
    if (file < 0 && (errno == EOPNOTSUPP || errno == EISDIR || errno == ENOENT)) {
        std::string name = (folder / ".cavigram.XXXXXX").string();
        file = ::mkostemp(name.data(), O_CLOEXEC);
        if (file >= 0) {
            ::unlink(name.c_str());
        }
    }
    if (file < 0) {
        return false;
    }
    ::close(file);
    return true;
}

}  // namespace

void check_folder_place(const std::filesystem::path& path) {
    // What is there of the path must be a folder, and the last one of it takes new files.
    std::filesystem::path there = path.empty() ? "." : path;
    std::error_code error;
    while (!std::filesystem::exists(there, error) && there.has_parent_path() &&
           there != there.parent_path()) {
        if (std::filesystem::is_symlink(there, error)) {
            cant_write(path, "a link that leads nowhere is in the way");
        }
        there = there.parent_path();
    }
    if (!std::filesystem::exists(there, error)) {
        there = ".";
    }
    if (!std::filesystem::is_directory(there, error)) {
        cant_write(path, "a file of that name is in the way");
    }
    if (!takes_files(there)) {
        cant_write(path, errno);
    }
}

void check_file_place(const std::filesystem::path& path) {
    std::error_code error;
    const std::filesystem::path folder =
        path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
    if (!std::filesystem::exists(folder, error)) {
        cant_write(path, "there is no such folder");
    }
    check_folder_place(folder);
    if (std::filesystem::is_directory(path, error)) {
        cant_write(path, "a folder of that name is in the way");
    }
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
