// SPDX-License-Identifier: GPL-3.0-or-later
#include "scan_store.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <sys/file.h>
#include <sys/stat.h>
#include <thread>
#include <tuple>
#include <unistd.h>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"

#include "content_hash.h"

namespace cavigram::program {

namespace fs = std::filesystem;

namespace {

constexpr const char* kRecord = "scan.json";

[[noreturn]] void cant(const char* what, const fs::path& path, int error) {
    throw WriteError(fmt::format("Can't {} {}: {}; choose a folder that you may write to.", what,
                                 path.string(), std::strerror(error)));
}

std::optional<std::string> content(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) {
        return std::nullopt;
    }
    return std::string{std::istreambuf_iterator<char>(file), {}};
}

bool is_still_there(int descriptor) {
    struct stat status {};
    return ::fstat(descriptor, &status) == 0 && status.st_nlink > 0;
}

}  // namespace

// ---- claims -------------------------------------------------------------------------------------

std::optional<Claim> Claim::take(const fs::path& file) {
    while (true) {
        const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
        if (descriptor < 0) {
            if (errno == ENOENT) {  // another program has just tidied up
                make_folder(file.parent_path());
                continue;
            }
            cant("write", file, errno);
        }
        Claim claim(file, descriptor);
        if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
            const int error = errno;
            ::close(std::exchange(claim.descriptor_, -1));
            if (error == EWOULDBLOCK) {
                return std::nullopt;
            }
            cant("lock", file, error);
        }
        if (is_still_there(descriptor)) {
            return claim;
        }
        // It was let go of between the opening and the lock.
        ::close(std::exchange(claim.descriptor_, -1));
    }
}

Claim Claim::wait(const fs::path& file, const std::stop_token& stop) {
    while (!stop.stop_requested()) {
        if (std::optional<Claim> claim = take(file)) {
            return std::move(*claim);
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    throw Cancelled();
}

Claim::Claim(Claim&& other) noexcept
    : file_(std::move(other.file_)), descriptor_(std::exchange(other.descriptor_, -1)) {}

Claim::~Claim() {
    if (descriptor_ >= 0) {
        ::unlink(file_.c_str());  // while it is held
        ::close(descriptor_);
    }
}

// ---- one scan -----------------------------------------------------------------------------------

ScanStore::~ScanStore() {
    try {
        tidy();
    } catch (const std::exception&) {
        // Then it stays: it is in nobody's way.
        return;
    }
}

void ScanStore::tidy() const {
    std::error_code error;
    std::vector<fs::path> left;
    for (const auto& entry : fs::directory_iterator(work(), error)) {
        left.push_back(entry.path());
    }
    for (const fs::path& path : left) {
        const bool is_lock = path.extension() == ".lock";
        const auto held = Claim::take(is_lock ? path : fs::path(path.string() + ".lock"));
        if (held && !is_lock) {
            fs::remove_all(path, error);
        }
    }
    ::rmdir(work().c_str());
}

std::string ScanStore::name_of(const fs::path& scan) {
    constexpr std::size_t kLongest = 60;
    constexpr std::size_t kDigits = 16;  // two of a million paths meet with odds of 1 to 4e7
    std::string name;
    for (const char c : scan.stem().string().substr(0, kLongest)) {
        const bool plain = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
                           (c >= 'a' && c <= 'z') || c == '-' || c == '_';
        name += plain ? c : '_';
    }
    return name + "-" + sha256(fs::absolute(scan).lexically_normal().string()).substr(0, kDigits);
}

std::optional<Claim> ScanStore::claim(const std::string& name) const {
    return Claim::take(work() / (name + ".lock"));
}

Claim ScanStore::wait_for(const std::string& name, const std::stop_token& stop) const {
    return Claim::wait(work() / (name + ".lock"), stop);
}

std::optional<ScanRow> ScanStore::record(const std::string& name) const {
    const auto text = content(folder_ / name / kRecord);
    if (!text) {
        return std::nullopt;
    }
    try {
        return parse_scan_row(*text);
    } catch (const UnusableInput&) {
        return std::nullopt;
    }
}

fs::path ScanStore::new_draft(const std::string& name) const {
    discard_draft(name);
    fs::path draft = work() / name;
    make_folder(draft);
    return draft;
}

void ScanStore::discard_draft(const std::string& name) const noexcept {
    std::error_code error;
    fs::remove_all(work() / name, error);
}

void ScanStore::commit(const std::string& name, const ScanRow& row) const {
    const fs::path draft = work() / name;
    const fs::path place = folder_ / name;
    write_file(draft / kRecord, scan_row_json(row));
    if (::rename(draft.c_str(), place.c_str()) == 0) {
        return;
    }
    if (errno != ENOTEMPTY && errno != EEXIST) {
        cant("write", place, errno);
    }
    // An earlier plan lies there. Both change places at once; where a file system can't do that,
    // the earlier one goes first.
    if (::renameat2(AT_FDCWD, draft.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) != 0) {
        std::error_code error;
        fs::remove_all(place, error);
        if (::rename(draft.c_str(), place.c_str()) != 0) {
            cant("write", place, errno);
        }
    }
    discard_draft(name);
}

// ---- the tables ---------------------------------------------------------------------------------

namespace {

ScanRow damaged(const fs::path& folder, const std::string& sentence) {
    ScanRow row;
    row.scan = folder.string();
    row.again = true;
    row.sentence = sentence + " Remove that folder and plan the scan again.";
    return row;
}

// The records below a folder, and, where there is none, one folder deeper.
void add_rows(const fs::path& folder, const std::string& above, bool deeper,
              std::vector<ScanRow>& rows) {
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folder, error)) {
        const std::string name = entry.path().filename().string();
        if (name.starts_with('.') || !entry.is_directory(error)) {
            continue;
        }
        const auto text = content(entry.path() / kRecord);
        if (!text) {
            if (deeper) {
                add_rows(entry.path(), name + "/", false, rows);
            }
            continue;
        }
        try {
            rows.push_back(parse_scan_row(*text));
        } catch (const UnusableInput& problem) {
            rows.push_back(damaged(entry.path(), problem.what()));
        }
        rows.back().folder = above + name;
    }
}

}  // namespace

std::vector<ScanRow> ScanStore::rows() const {
    std::vector<ScanRow> rows;
    add_rows(folder_, "", true, rows);
    std::sort(rows.begin(), rows.end(), [](const ScanRow& a, const ScanRow& b) {
        return std::tie(a.scan, a.folder) < std::tie(b.scan, b.folder);
    });
    return rows;
}

std::vector<ScanRow> ScanStore::write_tables(UnitSystem first, const std::stop_token& stop) const {
    make_folder(work());
    // Read and written under one lock: a table never replaces one that knows more.
    const Claim claim = Claim::wait(work() / "table.lock", stop);
    std::vector<ScanRow> all = rows();
    write_file(folder_ / "table.csv", scan_table_csv(all));
    write_file(folder_ / "table.html", scan_table_html(all, first));
    return all;
}

}  // namespace cavigram::program
