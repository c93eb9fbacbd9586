// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

#include "cavigram/tally/casting.h"

namespace cavigram {

/// A shop's castings in one SQLite file, made on first use. Safe for several programs at once and
/// for a kill in the middle: every change is one transaction.
///
/// A log of the first version is read as it is; the first casting that is added gives it the newer
/// columns, in the same transaction, and changes nothing of what it holds.
class CastingLog {
  public:
    enum class Access { read, write };

    /// Opens the file; with Access::write it is made, with its folder, if it is not there.
    /// \throw UnusableInput if it can't be opened, is no log of this program, or was written by a
    /// later version
    CastingLog(const std::filesystem::path& path, Access access);
    ~CastingLog();
    CastingLog(CastingLog&&) noexcept;
    CastingLog& operator=(CastingLog&&) noexcept;

    /// Adds a casting and gives its number. \throw InvalidInput for a casting that can't be, as
    /// check_casting; UnusableInput, WriteError
    std::int64_t add(const Casting& casting, double liquid_kg_m3 = kDensestLiquid_kg_m3);
    /// Removes the casting that was added last and gives it back; empty when there is none. \throw
    /// WriteError
    std::optional<Casting> undo();
    /// All castings, oldest first. \throw UnusableInput
    [[nodiscard]] std::vector<Casting> all() const;

  private:
    class Database;
    [[nodiscard]] std::vector<Casting> read() const;
    std::unique_ptr<Database> database_;
};

/// The usual place: `$XDG_DATA_HOME/cavigram/castings.db`, or below `~/.local/share`.
[[nodiscard]] std::filesystem::path usual_log_path();

}  // namespace cavigram
