// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace cavigram {

/// One casting as it was weighed. Masses that were not taken are empty.
struct Casting {
    std::int64_t number = 0;  ///< Given by the log, rising from 1.
    std::string
        date;  ///< `2026-11-24` or with a time, as the person wrote it; the log sorts by number.
    std::string part;  ///< What was cast.
    std::string mold;
    std::string foam;         ///< The card's name.
    std::string mix;          ///< `50:100`.
    double volume_mm3 = 0.0;  ///< Of the cavity, from the part's mesh.
    double area_mm2 = 0.0;
    std::optional<double> cup_mass_g;    ///< A and B poured together.
    std::optional<double> part_mass_g;   ///< Out of the mold, flash trimmed.
    std::optional<double> flash_mass_g;  ///< Trimmed flash, vents and sprue.
    std::optional<double> temperature_c;
    std::string verdict;  ///< `good`, `flaw`, `lost`; free words are allowed.
    std::string note;
};

/// A shop's castings in one SQLite file, made on first use. Safe for several programs at once and
/// for a kill in the middle: every change is one transaction.
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

    /// Adds a casting and gives its number. \throw InvalidInput for masses that can't be: not
    /// positive, more part than was poured; WriteError
    std::int64_t add(const Casting& casting);
    /// Removes the casting that was added last and gives it back; empty when there is none. \throw
    /// WriteError
    std::optional<Casting> undo();
    /// All castings, oldest first. \throw UnusableInput
    [[nodiscard]] std::vector<Casting> all() const;

  private:
    class Database;
    std::unique_ptr<Database> database_;
};

/// The usual place: `$XDG_DATA_HOME/cavigram/castings.db`, or below `~/.local/share`.
[[nodiscard]] std::filesystem::path usual_log_path();

/// The castings as CSV with a heading (RFC 4180): units in the names, empty where nothing was
/// weighed.
[[nodiscard]] std::string castings_csv(const std::vector<Casting>& castings);

}  // namespace cavigram
