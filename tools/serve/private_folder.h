// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>

namespace cavigram::serve {

/// A folder for the length of a run that only this user may enter (mode 0700), removed with all
/// that is in it at the end.
///
/// A run that is killed leaves its folder. A lock on a file in it tells whether its run still
/// lives: the kernel lets go of it however a process ends. Making a folder removes those that
/// nobody holds.
class PrivateFolder {
  public:
    /// Makes one in `above`, such as the folder for temporary files. \throw WriteError
    explicit PrivateFolder(const std::filesystem::path& above);
    ~PrivateFolder();
    PrivateFolder(const PrivateFolder&) = delete;
    PrivateFolder& operator=(const PrivateFolder&) = delete;

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }
    /// Removes it now. Files in it that are open stay readable for those who hold them.
    void remove() noexcept;

  private:
    std::filesystem::path path_;
    int lock_ = -1;
};

/// So many random bytes from the system, as twice as many hexadecimal digits. \throw WriteError
[[nodiscard]] std::string random_hex(std::size_t bytes);

}  // namespace cavigram::serve
