// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <map>
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
    std::map<std::string, std::set<std::string>> folders;  // and the names in each
};

Drafts& drafts() {
    static Drafts all;
    return all;
}

// Nothing but these: what a person put there meanwhile keeps its folder.
void remove_set(const std::string& folder, const std::set<std::string>& names) {
    for (const std::string& name : names) {
        ::unlink((std::filesystem::path(folder) / name).c_str());
    }
    ::rmdir(folder.c_str());
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

    // Written whole, with its rights, on its way to the disk. Of several files each is begun before
    // the first is waited for: the disk then takes them together, and not one after the other.
    void begin_to_disk() const {
        // mkostemp makes a private file; give it what the person's umask would have given.
        const mode_t mask = ::umask(0);
        ::umask(mask);
        if (::fchmod(file_, 0666 & ~mask) != 0) {
            fail();
        }
        ::sync_file_range(file_, 0, 0, SYNC_FILE_RANGE_WRITE);  // a hint: to_disk tells of errors
    }

    // Whole and on the disk, but not in its place yet.
    void to_disk() const {
        if (::fsync(file_) != 0) {
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
    draft.begin_to_disk();
    draft.to_disk();
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

namespace {

using FileSet = std::vector<std::pair<std::string, std::string>>;

std::set<std::string> names_of(const FileSet& files, const std::vector<std::string>& outdated) {
    std::set<std::string> names(outdated.begin(), outdated.end());
    for (const auto& file : files) {
        names.insert(file.first);
    }
    return names;
}

// A folder beside another, `.NAME.XXXXXX`, in which a set is written; gone at the end with what
// there is of the set in it.
class FolderDraft {
  public:
    FolderDraft(const std::filesystem::path& place, const std::set<std::string>& names)
        : path_((place.parent_path() / ("." + place.filename().string() + ".XXXXXX")).string()),
          names_(names) {
        const std::lock_guard lock(drafts().mutex);
        remove_leftovers();
        if (::mkdtemp(path_.data()) == nullptr) {
            path_.clear();
            return;
        }
        drafts().folders.emplace(path_, names_);
        folder_ = ::open(path_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        if (folder_ >= 0) {
            ::flock(folder_, LOCK_EX | LOCK_NB);
        }
    }
    FolderDraft(const FolderDraft&) = delete;
    FolderDraft& operator=(const FolderDraft&) = delete;
    ~FolderDraft() {
        if (!path_.empty()) {
            remove_set(path_, names_);
            const std::lock_guard lock(drafts().mutex);
            drafts().folders.erase(path_);
        }
        if (folder_ >= 0) {
            ::close(folder_);
        }
    }

    [[nodiscard]] bool is_there() const { return folder_ >= 0; }
    [[nodiscard]] const std::string& path() const { return path_; }

    // With the rights of the folder whose place it is to take. False if it can't have them.
    [[nodiscard]] bool become_as(const struct stat& about) const {
        struct stat mine {};
        return ::fstat(folder_, &mine) == 0 && mine.st_uid == about.st_uid &&
               mine.st_dev == about.st_dev &&
               (mine.st_gid == about.st_gid ||
                ::fchown(folder_, static_cast<uid_t>(-1), about.st_gid) == 0) &&
               ::fchmod(folder_, about.st_mode & 07777U) == 0;
    }

    // Both at once, or neither.
    [[nodiscard]] bool exchange_with(const std::filesystem::path& place) const {
        const std::lock_guard lock(drafts().mutex);
        return ::renameat2(AT_FDCWD, path_.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) == 0;
    }

  private:
    // Of runs that were killed: nobody holds them.
    void remove_leftovers() const {
        const std::filesystem::path pattern(path_);
        const std::string begin = pattern.filename().string();
        std::vector<std::string> left;
        std::error_code error;
        for (const auto& entry :
             std::filesystem::directory_iterator(pattern.parent_path(), error)) {
            const std::string name = entry.path().filename().string();
            constexpr std::size_t kRandom = 6;  // letters that mkdtemp puts in
            if (name.size() == begin.size() &&
                name.compare(0, name.size() - kRandom, begin, 0, name.size() - kRandom) == 0) {
                left.push_back(entry.path().string());
            }
        }
        for (const std::string& path : left) {
            const int folder =
                ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC | O_NOFOLLOW);
            if (folder >= 0 && ::flock(folder, LOCK_EX | LOCK_NB) == 0) {
                remove_drafts(path);
                remove_set(path, names_);
            }
            if (folder >= 0) {
                ::close(folder);
            }
        }
    }

    // Files of the set that were half written when the run was killed.
    void remove_drafts(const std::string& folder) const {
        std::error_code error;
        for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
            const std::string name = entry.path().filename().string();
            const std::size_t dot = name.rfind('.');
            if (name.starts_with('.') && dot > 0 && names_.contains(name.substr(1, dot - 1))) {
                ::unlink(entry.path().c_str());
            }
        }
    }

    std::string path_;
    const std::set<std::string>& names_;
    int folder_ = -1;
};

// Into a folder that nobody knows yet, one file open at a time. \throw WriteError
void write_all(const std::filesystem::path& folder, const FileSet& files) {
    for (const auto& [name, bytes] : files) {
        Draft draft(folder / name);
        draft.write(bytes);
        draft.begin_to_disk();
        const std::lock_guard lock(drafts().mutex);
        draft.place();
    }
    for (const auto& [name, bytes] : files) {
        const int file = ::open((folder / name).c_str(), O_RDONLY | O_CLOEXEC);
        const bool is_there = file >= 0 && ::fsync(file) == 0;
        const int error = errno;
        if (file >= 0) {
            ::close(file);
        }
        if (!is_there) {
            cant_write(folder / name, error);
        }
    }
}

// Puts a whole new folder in the place of one that holds nothing but files of such a set. False,
// with nothing changed, where that is not so, or the system or its rights don't let it.
bool folder_replaced(const std::filesystem::path& folder, const FileSet& files,
                     const std::set<std::string>& names) {
    std::error_code error;
    const std::filesystem::path place = std::filesystem::canonical(folder, error);
    struct stat about {};
    if (error || !place.has_filename() || ::stat(place.c_str(), &about) != 0) {
        return false;
    }
    // Who called from there would stand in the old folder, and see nothing.
    if (std::filesystem::equivalent(place, ".", error)) {
        return false;
    }
    for (const auto& entry : std::filesystem::directory_iterator(place, error)) {
        if (!names.contains(entry.path().filename().string()) || !entry.is_regular_file(error)) {
            return false;
        }
    }
    const FolderDraft draft(place, names);
    if (error || !draft.is_there() || !draft.become_as(about)) {
        return false;
    }
    try {
        write_all(draft.path(), files);
    } catch (const WriteError&) {
        // Told with the name that the person knows.
        return false;
    }
    return draft.exchange_with(place);
}

// Without that: one after the other, once all are written.
void replace_each(const std::filesystem::path& folder, const FileSet& files,
                  const std::vector<std::string>& outdated) {
    std::vector<std::unique_ptr<Draft>> written;
    written.reserve(files.size());
    for (const auto& [name, bytes] : files) {
        written.push_back(std::make_unique<Draft>(folder / name));
        written.back()->write(bytes);
        written.back()->begin_to_disk();
        written.back()->check_target();
    }
    for (const auto& draft : written) {
        draft->to_disk();
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

}  // namespace

void write_files(const std::filesystem::path& folder,
                 const std::vector<std::pair<std::string, std::string>>& files,
                 const std::vector<std::string>& outdated) {
    if (!folder_replaced(folder, files, names_of(files, outdated))) {
        replace_each(folder, files, outdated);
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
    for (const auto& [folder, names] : drafts().folders) {
        remove_set(folder, names);
    }
    drafts().folders.clear();
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
