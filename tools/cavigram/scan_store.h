// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "cavigram/report/scan_table.h"

namespace cavigram::program {

/// The right to work on something, which one program on this machine has at a time, and none that
/// has ended, however it ended: a locked file, which is gone when this is.
class Claim {
  public:
    /// None: another program has it. \throw WriteError if the file can't be made or locked
    [[nodiscard]] static std::optional<Claim> take(const std::filesystem::path& file);
    /// Waits for it. \throw Cancelled, WriteError
    [[nodiscard]] static Claim wait(const std::filesystem::path& file, const std::stop_token& stop);
    Claim(Claim&& other) noexcept;
    Claim& operator=(Claim&&) = delete;
    ~Claim();

  private:
    Claim(std::filesystem::path file, int descriptor)
        : file_(std::move(file)), descriptor_(descriptor) {}
    std::filesystem::path file_;
    int descriptor_ = -1;
};

/// A folder that holds the plans of many scans: for each a folder with its record (`scan.json`),
/// and the tables that are made from the records. Programs that work on one folder at once share
/// the scans between them.
///
/// What is half done lies in `.work`; a scan's folder appears whole, with its record, in one
/// rename. So whatever ends a program, the records tell what is done.
class ScanStore {
  public:
    explicit ScanStore(std::filesystem::path folder) : folder_(std::move(folder)) {}
    /// Removes what programs that were killed left in `.work`, and `.work` once nothing is in it.
    ~ScanStore();
    ScanStore(const ScanStore&) = delete;
    ScanStore& operator=(const ScanStore&) = delete;

    /// The name of a scan's folder: that of its file in plain letters, and 16 digits of the hash of
    /// its whole path, so that equal names do not meet.
    [[nodiscard]] static std::string name_of(const std::filesystem::path& scan);

    [[nodiscard]] std::optional<Claim> claim(const std::string& name) const;
    [[nodiscard]] Claim wait_for(const std::string& name, const std::stop_token& stop) const;
    /// The record that lies there; none: there is none that can be read.
    [[nodiscard]] std::optional<ScanRow> record(const std::string& name) const;
    /// An empty folder for what is being made. \pre the claim of that name is held
    [[nodiscard]] std::filesystem::path new_draft(const std::string& name) const;
    void discard_draft(const std::string& name) const noexcept;
    /// Puts the draft, with the row as its record, in the place of what lies there.
    /// \pre as new_draft. \throw WriteError
    void commit(const std::string& name, const ScanRow& row) const;

    /// All records here and one folder deeper, by scan. One that can't be read is a failed row.
    [[nodiscard]] std::vector<ScanRow> rows() const;
    /// Writes table.csv and table.html from the records, one program at a time, and gives the rows.
    /// \throw Cancelled, WriteError
    [[nodiscard]] std::vector<ScanRow> write_tables(UnitSystem first,
                                                    const std::stop_token& stop) const;

  private:
    void tidy() const;
    [[nodiscard]] std::filesystem::path work() const { return folder_ / ".work"; }
    std::filesystem::path folder_;
};

}  // namespace cavigram::program
