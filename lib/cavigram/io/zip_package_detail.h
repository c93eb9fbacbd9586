// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

namespace cavigram {

/// The entries of a zip archive in memory, unpacked piece by piece and never further than a bound.
///
/// All entries together may unpack to 64 MiB plus 128 times the archive, which no model's text
/// reaches (it packs to a fifth or a tenth) and every bomb does. `name` is how messages call the
/// archive, and must outlive this.
///
/// \throw UnusableInput if it is no archive
class ZipPackage {
  public:
    ZipPackage(std::string_view archive, std::string_view name);
    ZipPackage(const ZipPackage&) = delete;
    ZipPackage& operator=(const ZipPackage&) = delete;
    ~ZipPackage();

    /// Whether there is such an entry. As package parts go, any case and with or without a slash
    /// before it.
    [[nodiscard]] bool holds(std::string_view entry) const;

    /// Hands over an entry in pieces.
    ///
    /// \throw UnusableInput if it is not there, encrypted, damaged or too large
    void read(std::string_view entry, const std::function<void(std::string_view piece)>& take);

  private:
    struct Archive;
    std::unique_ptr<Archive> archive_;
    std::string_view name_;
    std::uint64_t left_ = 0;
};

}  // namespace cavigram
