// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting_log.h"

#include <cstdlib>
#include <iterator>

#include <fmt/core.h>
#include <sqlite3.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// Marks the file as ours ("cavi" in ASCII), so that another program's database is never written to.
constexpr int kApplication = 0x63617669;
// Version 1 held the columns up to `note`, version 2 no history.
constexpr int kVersion = 3;
constexpr int kWithAllColumns = 2;
// Another program may hold the file for a moment.
constexpr int kPatience_ms = 5000;

constexpr const char* kFirstTable =
    "CREATE TABLE casting (number INTEGER PRIMARY KEY AUTOINCREMENT, date TEXT NOT NULL, part TEXT "
    "NOT NULL, mold TEXT NOT NULL, "
    "foam TEXT NOT NULL, mix TEXT NOT NULL, volume_mm3 REAL NOT NULL, area_mm2 REAL NOT NULL, "
    "cup_mass_g REAL, part_mass_g REAL, "
    "flash_mass_g REAL, temperature_c REAL, verdict TEXT NOT NULL, note TEXT NOT NULL)";
constexpr const char* kFirstColumns =
    "number, date, part, mold, foam, mix, volume_mm3, area_mm2, cup_mass_g, part_mass_g, "
    "flash_mass_g, temperature_c, verdict, note";
// What the second version added, in the order of the columns.
struct AddedColumn {
    const char* name;
    std::optional<double> Casting::*value;
};
constexpr AddedColumn kAdded[] = {{"skin_reference_mm", &Casting::skin_reference_mm},
                                  {"skin_volume_mm3", &Casting::skin_volume_mm3},
                                  {"stayed_mass_g", &Casting::stayed_mass_g},
                                  {"free_rise_mass_g", &Casting::free_rise_mass_g},
                                  {"free_rise_volume_ml", &Casting::free_rise_volume_ml}};
constexpr int kFirstCount = 14;

// The columns of a log, all of them or those of its first version.
std::string columns_of(bool first_version) {
    std::string columns = kFirstColumns;
    for (const AddedColumn& added : kAdded) {
        columns += first_version ? "" : std::string(", ") + added.name;
    }
    return columns;
}

std::string history_table() {
    std::string columns =
        "CREATE TABLE history (change INTEGER PRIMARY KEY AUTOINCREMENT, removed INTEGER NOT NULL, "
        "changed TEXT NOT NULL, number INTEGER NOT NULL, date TEXT NOT NULL, part TEXT NOT NULL, "
        "mold TEXT NOT NULL, foam TEXT NOT NULL, mix TEXT NOT NULL, volume_mm3 REAL NOT NULL, "
        "area_mm2 REAL NOT NULL, cup_mass_g REAL, part_mass_g REAL, flash_mass_g REAL, "
        "temperature_c REAL, verdict TEXT NOT NULL, note TEXT NOT NULL";
    for (const AddedColumn& added : kAdded) {
        columns += fmt::format(", {} REAL", added.name);
    }
    return columns + ")";
}

}  // namespace

// An open connection; its statements end with it.
class CastingLog::Database {
  public:
    Database(const std::filesystem::path& path, Access access) : path_(path) {
        if (access == Access::write && path.has_parent_path()) {
            make_folder(path.parent_path());
        }
        // Reading, too, must be able to roll back what a killed program left behind; on a file that
        // may not be written to, SQLite reads only.
        const int flags =
            SQLITE_OPEN_READWRITE | (access == Access::write ? SQLITE_OPEN_CREATE : 0);
        if (sqlite3_open_v2(path.c_str(), &connection_, flags, nullptr) != SQLITE_OK) {
            const std::string why = sqlite3_errmsg(connection_);
            sqlite3_close(connection_);
            throw UnusableInput(fmt::format(
                "Can't open the casting log {}: {}; check the path and its permissions.",
                path.string(), why));
        }
        sqlite3_busy_timeout(connection_, kPatience_ms);
        try {
            check_or_make(access);
        } catch (...) {
            sqlite3_close(connection_);
            throw;
        }
    }
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;
    ~Database() { sqlite3_close(connection_); }

    class Statement {
      public:
        Statement(const Database& database, const std::string& text) : database_(database) {
            if (sqlite3_prepare_v2(database.connection_, text.c_str(), -1, &statement_, nullptr) !=
                SQLITE_OK) {
                database.fail();
            }
        }
        Statement(const Statement&) = delete;
        Statement& operator=(const Statement&) = delete;
        ~Statement() { sqlite3_finalize(statement_); }

        void bind(int at, const std::string& text) {
            sqlite3_bind_text(statement_, at, text.c_str(), -1, SQLITE_TRANSIENT);
        }
        void bind(int at, double value) { sqlite3_bind_double(statement_, at, value); }
        void bind(int at, std::int64_t value) { sqlite3_bind_int64(statement_, at, value); }
        void bind(int at, const std::optional<double>& value) {
            value ? sqlite3_bind_double(statement_, at, *value) : sqlite3_bind_null(statement_, at);
        }
        // True while there is a row.
        bool step() {
            const int status = sqlite3_step(statement_);
            if (status != SQLITE_ROW && status != SQLITE_DONE) {
                database_.fail();
            }
            return status == SQLITE_ROW;
        }
        [[nodiscard]] std::string text(int column) const {
            const auto* bytes = sqlite3_column_text(statement_, column);
            return bytes == nullptr ? "" : reinterpret_cast<const char*>(bytes);
        }
        [[nodiscard]] double number(int column) const {
            return sqlite3_column_double(statement_, column);
        }
        [[nodiscard]] std::int64_t whole(int column) const {
            return sqlite3_column_int64(statement_, column);
        }
        [[nodiscard]] std::optional<double> maybe(int column) const {
            return sqlite3_column_type(statement_, column) == SQLITE_NULL
                       ? std::nullopt
                       : std::optional(number(column));
        }

      private:
        const Database& database_;
        sqlite3_stmt* statement_ = nullptr;
    };

    void run(const std::string& text) const { Statement(*this, text).step(); }

    // Runs `work` as one transaction, undone if it throws.
    template <typename Work>
    auto whole(const char* begin, const Work& work) const {
        run(begin);
        try {
            auto result = work();
            run("COMMIT");
            return result;
        } catch (...) {
            // Not by run(): its own error would hide the first.
            sqlite3_exec(connection_, "ROLLBACK", nullptr, nullptr, nullptr);
            throw;
        }
    }

    // The version in which the file is written now; another program may have raised it since it
    // was opened. \throw UnusableInput if it is later than this program
    [[nodiscard]] std::int64_t version() const {
        const std::int64_t version = pragma("user_version");
        if (version > kVersion) {
            throw UnusableInput(
                fmt::format("{} was written by a later version of this program; use that version.",
                            path_.string()));
        }
        return version;
    }

    // A file that a full disk or a kill left before its tables were made; it is an empty log.
    [[nodiscard]] bool is_unmade() const { return version() == 0; }

    // Brings the tables to today's; what they hold stays as it is. \pre within a transaction
    void bring_up_to_date() const {
        const std::int64_t from = version();
        if (from == kVersion) {
            return;
        }
        if (from < kWithAllColumns) {
            for (const AddedColumn& added : kAdded) {
                run(fmt::format("ALTER TABLE casting ADD COLUMN {} REAL", added.name));
            }
        }
        run(history_table());
        run(fmt::format("PRAGMA user_version = {}", kVersion));
    }

    [[nodiscard]] std::int64_t last_number() const {
        return sqlite3_last_insert_rowid(connection_);
    }

    [[noreturn]] void fail() const {
        const int code = sqlite3_errcode(connection_);
        const std::string why = sqlite3_errmsg(connection_);
        if (code == SQLITE_BUSY || code == SQLITE_LOCKED) {
            throw WriteError(fmt::format(
                "The casting log {} is in use by another program; try again when that is done.",
                path_.string()));
        }
        if (code == SQLITE_NOTADB || code == SQLITE_CORRUPT) {
            throw UnusableInput(
                fmt::format("{} is no casting log, or is damaged; name another file with {}, or "
                            "restore a copy.",
                            path_.string(), setting("db")));
        }
        throw WriteError(
            fmt::format("The casting log {} can't be used: {}; check its permissions and the disk.",
                        path_.string(), why));
    }

  private:
    [[nodiscard]] std::int64_t pragma(const char* name) const {
        Statement statement(*this, std::string("PRAGMA ") + name);
        return statement.step() ? statement.whole(0) : 0;
    }

    void check_or_make(Access access) const {
        // A log that is there needs no lock for writing. Making one is a transaction of its own, so
        // that two programs that find none make one.
        const bool may_make = access == Access::write && pragma("application_id") == 0;
        whole(may_make ? "BEGIN IMMEDIATE" : "BEGIN", [&] {
            const std::int64_t application = pragma("application_id");
            const std::int64_t tables = [&] {
                Statement count(*this, "SELECT count(*) FROM sqlite_master");
                return count.step() ? count.whole(0) : 0;
            }();
            if (application == 0 && tables == 0 && access == Access::write) {
                run(kFirstTable);
                run(fmt::format("PRAGMA application_id = {}", kApplication));
                bring_up_to_date();
            } else if (application != kApplication && (application != 0 || tables != 0)) {
                throw UnusableInput(fmt::format(
                    "{} is not a casting log of this program; name another file with {}.",
                    path_.string(), setting("db")));
            }
            return version();
        });
    }

    std::filesystem::path path_;
    sqlite3* connection_ = nullptr;
};

CastingLog::CastingLog(const std::filesystem::path& path, Access access)
    : database_(std::make_unique<Database>(path, access)) {}
CastingLog::~CastingLog() = default;
CastingLog::CastingLog(CastingLog&&) noexcept = default;
CastingLog& CastingLog::operator=(CastingLog&&) noexcept = default;

namespace {

// All columns but the number, from the place `first` on.
template <class Statement>
void bind_casting(Statement& statement, int first, const Casting& c) {
    int at = first;
    for (const std::string* text : {&c.date, &c.part, &c.mold, &c.foam, &c.mix}) {
        statement.bind(at++, *text);
    }
    statement.bind(at++, c.volume_mm3);
    statement.bind(at++, c.area_mm2);
    for (const auto& mass : {c.cup_mass_g, c.part_mass_g, c.flash_mass_g, c.temperature_c}) {
        statement.bind(at++, mass);
    }
    statement.bind(at++, c.verdict);
    statement.bind(at++, c.note);
    for (const AddedColumn& added : kAdded) {
        statement.bind(at++, c.*added.value);
    }
}

// A row in the order of columns_of, from the column `first` on.
template <class Statement>
Casting casting_of(const Statement& row, int first, bool first_version) {
    int at = first;
    Casting c;
    c.number = row.whole(at++);
    for (std::string* text : {&c.date, &c.part, &c.mold, &c.foam, &c.mix}) {
        *text = row.text(at++);
    }
    c.volume_mm3 = row.number(at++);
    c.area_mm2 = row.number(at++);
    for (auto* mass : {&c.cup_mass_g, &c.part_mass_g, &c.flash_mass_g, &c.temperature_c}) {
        *mass = row.maybe(at++);
    }
    c.verdict = row.text(at++);
    c.note = row.text(at++);
    if (!first_version) {
        for (const AddedColumn& added : kAdded) {
            c.*added.value = row.maybe(at++);
        }
    }
    return c;
}

}  // namespace

Casting CastingLog::find(std::int64_t number) const {
    if (!database_->is_unmade()) {
        const bool first_version = database_->version() < kWithAllColumns;
        Database::Statement select(
            *database_, "SELECT " + columns_of(first_version) + " FROM casting WHERE number = ?1");
        select.bind(1, number);
        if (select.step()) {
            return casting_of(select, 0, first_version);
        }
    }
    throw InvalidInput(fmt::format(
        "The log holds no casting {}; \"cavigram tally list\" shows the numbers there are.",
        static_cast<long long>(number)));
}

void CastingLog::keep(std::int64_t number, bool removed, const std::string& on) {
    database_->bring_up_to_date();
    const std::string columns = columns_of(false);
    Database::Statement insert(*database_, "INSERT INTO history (removed, changed, " + columns +
                                               ") SELECT ?1, ?2, " + columns +
                                               " FROM casting WHERE number = ?3");
    insert.bind(1, static_cast<std::int64_t>(removed ? 1 : 0));
    insert.bind(2, on);
    insert.bind(3, number);
    insert.step();
}

std::int64_t CastingLog::add(const Casting& casting, double liquid_kg_m3) {
    check_casting(casting, liquid_kg_m3);
    return database_->whole("BEGIN IMMEDIATE", [&] {
        database_->bring_up_to_date();
        // All columns but the number, which the log gives.
        const std::string columns = columns_of(false).substr(sizeof "number,");
        std::string places = "?1";
        for (std::size_t i = 2; i < kFirstCount + std::size(kAdded); ++i) {
            places += fmt::format(",?{}", i);
        }
        Database::Statement insert(*database_,
                                   "INSERT INTO casting (" + columns + ") VALUES (" + places + ")");
        bind_casting(insert, 1, casting);
        insert.step();
        return database_->last_number();
    });
}

Casting CastingLog::correct(const Casting& casting, const std::string& on, double liquid_kg_m3) {
    check_casting(casting, liquid_kg_m3);
    return database_->whole("BEGIN IMMEDIATE", [&] {
        Casting was = find(casting.number);
        keep(casting.number, false, on);
        std::string columns = columns_of(false).substr(sizeof "number,");
        std::string places = "?2";
        for (std::size_t i = 3; i < 1 + kFirstCount + std::size(kAdded); ++i) {
            places += fmt::format(",?{}", i);
        }
        Database::Statement update(*database_, "UPDATE casting SET (" + columns + ") = (" + places +
                                                   ") WHERE number = ?1");
        update.bind(1, casting.number);
        bind_casting(update, 2, casting);
        update.step();
        return was;
    });
}

std::vector<Casting> CastingLog::all() const {
    return database_->whole("BEGIN", [&] {
        std::vector<Casting> castings;
        if (database_->is_unmade()) {
            return castings;
        }
        const bool first_version = database_->version() < kWithAllColumns;
        Database::Statement select(
            *database_, "SELECT " + columns_of(first_version) + " FROM casting ORDER BY number");
        while (select.step()) {
            castings.push_back(casting_of(select, 0, first_version));
        }
        return castings;
    });
}

Casting CastingLog::at(std::int64_t number) const {
    return database_->whole("BEGIN", [&] { return find(number); });
}

std::vector<PastCasting> CastingLog::history() const {
    return database_->whole("BEGIN", [&] {
        std::vector<PastCasting> past;
        if (database_->version() < kVersion) {
            return past;
        }
        Database::Statement select(*database_, "SELECT removed, changed, " + columns_of(false) +
                                                   " FROM history ORDER BY change");
        while (select.step()) {
            past.push_back({casting_of(select, 2, false), select.whole(0) != 0, select.text(1)});
        }
        return past;
    });
}

Casting CastingLog::take_out(std::int64_t number, const std::string& on) {
    Casting was = find(number);
    keep(number, true, on);
    Database::Statement remove(*database_, "DELETE FROM casting WHERE number = ?1");
    remove.bind(1, number);
    remove.step();
    return was;
}

Casting CastingLog::remove(std::int64_t number, const std::string& on) {
    return database_->whole("BEGIN IMMEDIATE", [&] { return take_out(number, on); });
}

std::optional<Casting> CastingLog::undo(const std::string& on) {
    return database_->whole("BEGIN IMMEDIATE", [&]() -> std::optional<Casting> {
        const std::int64_t last = [&] {
            Database::Statement select(*database_, "SELECT max(number) FROM casting");
            return select.step() ? select.whole(0) : 0;
        }();
        return last > 0 ? std::optional(take_out(last, on)) : std::nullopt;
    });
}

std::filesystem::path usual_log_path() {
    const char* const data = std::getenv("XDG_DATA_HOME");
    const char* const home = std::getenv("HOME");
    const bool has_data = data != nullptr && *data == '/';
    // A log in whatever folder one stands in would be another each time.
    if (!has_data && (home == nullptr || *home != '/')) {
        throw InvalidInput(
            fmt::format("Neither HOME nor XDG_DATA_HOME names a folder, so the log has no usual "
                        "place; name its file with {}.",
                        setting("db")));
    }
    const std::filesystem::path base =
        has_data ? std::filesystem::path(data) : std::filesystem::path(home) / ".local" / "share";
    return base / "cavigram" / "castings.db";
}

}  // namespace cavigram
