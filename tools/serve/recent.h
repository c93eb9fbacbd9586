// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "job.h"

namespace cavigram::serve {

/// A part that was here before.
struct RecentPart {
    std::string id;              ///< Of its folder, random.
    std::string name;            ///< As the person knows the file; never a path.
    std::filesystem::path file;  ///< Where its bytes lie.
    std::uint64_t bytes = 0;
    std::int64_t used_ms = 0;   ///< When it was used last, in milliseconds since 1970.
    program::JobValues values;  ///< Its options, without those that name other parts.
};

/// Parts that stay on the machine from one start to the next, in a folder that only this user may
/// enter (0700, files 0600): copies of the files and what was chosen for them. Of more than fit,
/// those that were not used for longest go.
///
/// A folder of a part appears and goes by one renaming, so that several servers and a kill at any
/// moment leave whole ones only; halves are removed at the next start. All members may be called
/// from any thread.
class Recent {
  public:
    static constexpr std::size_t kMostParts = 30;
    static constexpr std::uint64_t kMostBytes = std::uint64_t{2} << 30;  // of all together

    /// Empty: keeps nothing. A folder that is not this user's own keeps nothing either.
    explicit Recent(std::filesystem::path folder);
    ~Recent();
    Recent(const Recent&) = delete;
    Recent& operator=(const Recent&) = delete;

    [[nodiscard]] bool keeps() const { return !folder_.empty(); }
    [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

    /// Keeps a copy of a file, or knows it again by name and content; gives its id. Empty: it is
    /// too large, or nothing is kept. \throw WriteError
    std::string keep(const std::string& name, const std::filesystem::path& file);
    /// It was used now, with these options, or with those that it had. What is gone meanwhile stays
    /// gone.
    void use(const std::string& id, const std::optional<program::JobValues>& values) noexcept;
    /// All, those that were used last first.
    [[nodiscard]] std::vector<RecentPart> all() const;
    [[nodiscard]] std::optional<RecentPart> find(const std::string& id) const;
    void forget(const std::string& id);
    void forget_all();

  private:
    [[nodiscard]] std::optional<RecentPart> read(const std::filesystem::path& folder) const;
    void write_about(const std::filesystem::path& folder, const std::string& name,
                     const program::JobValues& values) const;
    void make_room(std::uint64_t bytes);
    void remove_halves();

    std::filesystem::path folder_;
    int lock_ = -1;  // shared by all servers that are running, let go of however they end
};

/// The same file at another place: a second name where that can be, else a copy for this user only.
/// Neither is ever written to. \throw std::filesystem::filesystem_error
void share_file(const std::filesystem::path& from, const std::filesystem::path& to);

}  // namespace cavigram::serve
