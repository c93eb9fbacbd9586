// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/tally/casting.h"

namespace cavigram {

/// A casting as it stood before it was corrected or removed.
struct PastCasting {
    Casting was;           ///< As it stood before.
    bool removed = false;  ///< Else corrected.
    std::string on;        ///< The day of the change, `2026-11-24`.
};

/// A shop's castings in one SQLite file, made on first use. Safe for several programs at once and
/// for a kill in the middle: every change is one transaction.
///
/// Nothing that was once written down is lost: what a correction replaces, and what is removed, is
/// kept beside it as history. A log of an earlier version is read as it is; the first change gives
/// it what is newer, in the same transaction, and leaves alone what it holds.
class CastingLog {
  public:
    /// Whether the file is made, or only read.
    enum class Access { read, write };

    /// Opens the file; with Access::write it is made, with its folder, if it is not there.
    ///
    /// \throw UnusableInput if it can't be opened, is no log of this program, or was written by a
    /// later version
    CastingLog(const std::filesystem::path& path, Access access);
    ~CastingLog();
    /// Moves the open file.
    CastingLog(CastingLog&&) noexcept;
    /// Moves the open file.
    CastingLog& operator=(CastingLog&&) noexcept;

    /// Adds a casting and gives its number.
    ///
    /// \throw InvalidInput for a casting that can't be, as check_casting; UnusableInput, WriteError
    std::int64_t add(const Casting& casting, double liquid_kg_m3 = kDensestLiquid_kg_m3);
    /// Puts a casting in the place of the one of its number and gives back what stood there; that
    /// is kept as history. `on` is today.
    ///
    /// \throw InvalidInput if there is no such number, or for a casting that can't be;
    /// UnusableInput, WriteError
    Casting correct(const Casting& casting, const std::string& on,
                    double liquid_kg_m3 = kDensestLiquid_kg_m3);
    /// Takes the casting of that number out of the log and gives it back; it is kept as history,
    /// and its number is not used again.
    ///
    /// \throw InvalidInput if there is none; WriteError
    Casting remove(std::int64_t number, const std::string& on);
    /// The same with the casting that was added last; empty when there is none.
    ///
    /// \throw WriteError
    std::optional<Casting> undo(const std::string& on);
    /// The casting of that number.
    ///
    /// \throw InvalidInput if there is none; UnusableInput
    [[nodiscard]] Casting at(std::int64_t number) const;
    /// What was corrected or removed, in the order in which it was.
    ///
    /// \throw UnusableInput
    [[nodiscard]] std::vector<PastCasting> history() const;
    /// All castings, oldest first.
    ///
    /// \throw UnusableInput
    [[nodiscard]] std::vector<Casting> all() const;

  private:
    class Database;
    // Within a transaction.
    [[nodiscard]] Casting find(std::int64_t number) const;
    void keep(std::int64_t number, bool removed, const std::string& on);
    Casting take_out(std::int64_t number, const std::string& on);
    std::unique_ptr<Database> database_;
};

/// The usual place: `$XDG_DATA_HOME/cavigram/castings.db`, or below `~/.local/share`.
///
/// \throw InvalidInput if the environment names neither
[[nodiscard]] std::filesystem::path usual_log_path();

}  // namespace cavigram
