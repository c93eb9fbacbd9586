// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting_log.h"

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <optional>
#include <set>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

#include <doctest/doctest.h>
#include <fmt/core.h>
#include <sqlite3.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"

using namespace cavigram;

namespace {

// A folder of its own, gone at the end.
class Folder {
  public:
    Folder()
        : path_(std::filesystem::temp_directory_path() /
                fmt::format("cavigram_tally_{}_{}", getpid(), counter_++)) {
        make_folder(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() { std::filesystem::remove_all(path_); }
    [[nodiscard]] std::filesystem::path file(const char* name) const { return path_ / name; }

  private:
    static inline int counter_ = 0;
    std::filesystem::path path_;
};

Casting bell(double part_g) {
    Casting c;
    c.date = "2026-11-24";
    c.part = "ship's bell, \"soft\"";
    c.foam = "generic-firm";
    c.mix = "50:100";
    c.volume_mm3 = 269000;
    c.area_mm2 = 68000;
    c.cup_mass_g = 60;
    c.part_mass_g = part_g;
    c.verdict = "good";
    c.note = "cold room,\nslow rise";
    return c;
}

std::string complaint(const std::filesystem::path& path, CastingLog::Access access) {
    try {
        const CastingLog log(path, access);
        static_cast<void>(log.all());
    } catch (const Error& error) {
        return error.what();
    }
    return "opened";
}

const char* const kFirstLog = "tests/tally/castings_1.db";

std::string bytes_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

// Runs one statement by SQLite itself and gives its rows as text.
std::string run_sql(const std::filesystem::path& path, const std::string& text) {
    sqlite3* connection = nullptr;
    REQUIRE(sqlite3_open_v2(path.c_str(), &connection, SQLITE_OPEN_READWRITE, nullptr) ==
            SQLITE_OK);
    std::string rows;
    const auto row = [](void* to, int columns, char** values, char**) {
        for (int i = 0; i < columns; ++i) {
            *static_cast<std::string*>(to) += values[i] == nullptr ? "NULL" : values[i];
            *static_cast<std::string*>(to) += '|';
        }
        return 0;
    };
    CHECK(sqlite3_exec(connection, text.c_str(), row, &rows, nullptr) == SQLITE_OK);
    sqlite3_close(connection);
    return rows;
}

// The first version's columns with all digits.
std::string dump(const std::filesystem::path& path, const std::string& where) {
    return run_sql(path,
                   "SELECT number, date, part, mold, foam, mix, "
                   "printf('%.17g', volume_mm3), printf('%.17g', area_mm2), cup_mass_g, "
                   "part_mass_g, flash_mass_g, temperature_c, verdict, note FROM casting WHERE " +
                       where + " ORDER BY number");
}

// What the program of that time printed of kFirstLog, with `tally export`.
void check_first_log(const std::vector<Casting>& castings) {
    REQUIRE(castings.size() == 3);
    const Casting& first = castings[0];
    CHECK(first.number == 1);
    CHECK(first.date == "2026-11-01");
    CHECK(first.part == "mooring_cleat.stl");
    CHECK(first.mold == "left, silicone");
    CHECK(first.foam == "generic-firm");
    CHECK(first.mix == "50:100");
    CHECK(fmt::format("{:.10g}", first.volume_mm3) == "233832.1611");
    CHECK(fmt::format("{:.10g}", first.area_mm2) == "34468.68088");
    CHECK(first.cup_mass_g == 45.0);
    CHECK(first.part_mass_g == 39.5);
    CHECK(first.flash_mass_g == 1.25);
    CHECK(first.temperature_c == 19.5);
    CHECK(first.verdict == "good");
    CHECK(first.note == "cold room,\nslow \"rise\"");
    CHECK(castings[1].number == 2);
    CHECK(castings[1].part_mass_g == 40.0);
    CHECK_FALSE(castings[1].cup_mass_g);
    CHECK(castings[1].verdict == "flaw");  // a word of that time
    CHECK(castings[2].number == 3);
    CHECK(castings[2].date == "2026-11-03 14:20");
    CHECK(castings[2].foam == "generic-soft");
    CHECK(castings[2].cup_mass_g == 47.0);
    CHECK_FALSE(castings[2].part_mass_g);
    CHECK(castings[2].verdict == "lost");
    for (const Casting& c : castings) {
        CHECK_FALSE(c.skin_reference_mm);
        CHECK_FALSE(c.skin_volume_mm3);
        CHECK_FALSE(c.stayed_mass_g);
        CHECK_FALSE(c.free_rise_mass_g);
        CHECK_FALSE(c.free_rise_volume_ml);
    }
}

}  // namespace

TEST_CASE("add, list, undo; numbers are not used twice; what was not weighed stays empty") {
    const Folder folder;
    CastingLog log(folder.file("deep/log.db"), CastingLog::Access::write);
    CHECK(log.all().empty());
    CHECK_FALSE(log.undo("2026-11-26"));
    CHECK(log.add(bell(50)) == 1);
    CHECK(log.add(bell(51)) == 2);
    CHECK(log.undo("2026-11-26")->part_mass_g == 51.0);
    CHECK(log.add(bell(52)) == 3);
    const auto castings = CastingLog(folder.file("deep/log.db"), CastingLog::Access::read).all();
    REQUIRE(castings.size() == 2);
    CHECK(castings[1].part == "ship's bell, \"soft\"");
    CHECK(castings[1].note == "cold room,\nslow rise");
    CHECK_FALSE(castings[1].flash_mass_g);
    CHECK(castings[1].part_mass_g == 52.0);
}

TEST_CASE("any entry is corrected or removed by its number, and what it was is kept") {
    const Folder folder;
    const auto path = folder.file("log.db");
    CastingLog log(path, CastingLog::Access::write);
    for (const double grams : {50.0, 51.0, 52.0}) {
        log.add(bell(grams));
    }
    Casting c = log.all()[1];
    c.part_mass_g = 41.0;
    c.stayed_mass_g = 3.0;
    CHECK(log.correct(c, "2026-11-25").part_mass_g == 51.0);
    CHECK(log.remove(1, "2026-11-26").part_mass_g == 50.0);
    // What is wrong changes nothing.
    c.part_mass_g = -1.0;
    CHECK_THROWS_AS(log.correct(c, "2026-11-26"), InvalidInput);
    c.part_mass_g = 41.0;
    c.number = 1;
    CHECK_THROWS_AS(log.correct(c, "2026-11-26"), InvalidInput);
    CHECK_THROWS_AS(log.remove(1, "2026-11-26"), InvalidInput);
    CHECK_THROWS_AS(log.remove(7, "2026-11-26"), InvalidInput);
    const CastingLog reader(path, CastingLog::Access::read);
    const auto castings = reader.all();
    REQUIRE(castings.size() == 2);
    CHECK(castings[0].number == 2);
    CHECK(castings[0].part_mass_g == 41.0);
    CHECK(castings[0].stayed_mass_g == 3.0);
    CHECK(castings[0].note == "cold room,\nslow rise");
    CHECK(castings[1].number == 3);
    const auto past = reader.history();
    REQUIRE(past.size() == 2);
    CHECK(past[0].was.number == 2);
    CHECK(past[0].was.part_mass_g == 51.0);
    CHECK_FALSE(past[0].was.stayed_mass_g);
    CHECK_FALSE(past[0].removed);
    CHECK(past[0].on == "2026-11-25");
    CHECK(past[1].was.number == 1);
    CHECK(past[1].removed);
    CHECK(past[1].on == "2026-11-26");
    // Asked of SQLite itself.
    CHECK(run_sql(path, "SELECT removed, number, part_mass_g FROM history ORDER BY change") ==
          "0|2|51.0|1|1|50.0|");
}

TEST_CASE("a log of the second version keeps all, and what is taken back of it too") {
    const Folder folder;
    const auto path = folder.file("log.db");
    CastingLog(path, CastingLog::Access::write).add(bell(50));
    // As the program of that time left it: all columns, no history.
    run_sql(path, "DROP TABLE history; PRAGMA user_version = 2");
    CHECK(CastingLog(path, CastingLog::Access::read).history().empty());
    CHECK(CastingLog(path, CastingLog::Access::read).all().size() == 1);
    CHECK(run_sql(path, "PRAGMA user_version") == "2|");
    CHECK(CastingLog(path, CastingLog::Access::write).undo("2026-11-26")->part_mass_g == 50.0);
    CHECK(CastingLog(path, CastingLog::Access::read).all().empty());
    CHECK(CastingLog(path, CastingLog::Access::read).history().size() == 1);
}

// As the XDG Base Directory Specification, version 0.8, has it: $XDG_DATA_HOME, or else
// $HOME/.local/share; a path that is not absolute is to be ignored.
TEST_CASE("the usual log lies where a person's data lies, and never in the folder one stands in") {
    const auto kept = [](const char* name) {
        const char* const value = std::getenv(name);
        return value != nullptr ? std::optional<std::string>(value) : std::nullopt;
    };
    const auto give = [](const char* name, const std::optional<std::string>& value) {
        value ? setenv(name, value->c_str(), 1) : unsetenv(name);
    };
    const auto data = kept("XDG_DATA_HOME");
    const auto home = kept("HOME");
    give("HOME", "/home/shop");
    give("XDG_DATA_HOME", "/data");
    CHECK(usual_log_path() == "/data/cavigram/castings.db");
    for (const std::optional<std::string>& none :
         {std::optional<std::string>(), std::optional<std::string>(""),
          std::optional<std::string>("data")}) {
        give("XDG_DATA_HOME", none);
        CHECK(usual_log_path() == "/home/shop/.local/share/cavigram/castings.db");
    }
    for (const std::optional<std::string>& none :
         {std::optional<std::string>(), std::optional<std::string>("shop")}) {
        give("HOME", none);
        CHECK_THROWS_AS(static_cast<void>(usual_log_path()), InvalidInput);
    }
    give("XDG_DATA_HOME", data);
    give("HOME", home);
}

TEST_CASE("impossible masses are refused and change nothing") {
    const Folder folder;
    CastingLog log(folder.file("log.db"), CastingLog::Access::write);
    Casting c = bell(61.5);
    CHECK_THROWS_AS(log.add(c), InvalidInput);  // more than was poured
    c = bell(-1);
    CHECK_THROWS_AS(log.add(c), InvalidInput);
    c = bell(50);
    c.flash_mass_g = 11.5;
    CHECK_THROWS_AS(log.add(c), InvalidInput);
    c = bell(50);
    c.volume_mm3 = 0.0;
    CHECK_THROWS_AS(log.add(c), InvalidInput);
    CHECK(log.all().empty());
}

TEST_CASE("files that are no log are refused in one sentence and left alone") {
    const Folder folder;
    write_file(folder.file("letter.db"), std::string(5000, 'x'));
    CHECK(complaint(folder.file("letter.db"), CastingLog::Access::write).find("no casting log") !=
          std::string::npos);
    CHECK(complaint(folder.file("missing.db"), CastingLog::Access::read).find("Can't open") !=
          std::string::npos);
    CHECK(complaint(folder.file("."), CastingLog::Access::write).find("Can't open") !=
          std::string::npos);
    { CastingLog log(folder.file("log.db"), CastingLog::Access::write); }
    // Damaged in the middle.
    std::fstream file(folder.file("log.db"), std::ios::binary | std::ios::in | std::ios::out);
    file.seekp(20);
    file.write("garbage in the header", 21);
    file.close();
    CHECK(complaint(folder.file("log.db"), CastingLog::Access::write) != "opened");
}

TEST_CASE("what a full disk or a kill left before the first casting is an empty log") {
    const Folder folder;
    write_file(folder.file("log.db"), "");
    {
        const CastingLog log(folder.file("log.db"), CastingLog::Access::read);
        CHECK(log.all().empty());
        CHECK(log.history().empty());
        CHECK_THROWS_AS(static_cast<void>(log.at(1)), InvalidInput);
    }
    CHECK(std::filesystem::file_size(folder.file("log.db")) == 0);
    CastingLog log(folder.file("log.db"), CastingLog::Access::write);
    CHECK(log.add(bell(50)) == 1);
}

TEST_CASE("several programs at once lose nothing") {
    const Folder folder;
    const auto path = folder.file("log.db");
    std::vector<std::thread> writers;
    for (int w = 0; w < 4; ++w) {
        writers.emplace_back([&path] {
            for (int i = 0; i < 10; ++i) {
                CastingLog(path, CastingLog::Access::write).add(bell(50));
            }
        });
    }
    for (std::thread& writer : writers) {
        writer.join();
    }
    std::set<std::int64_t> numbers;
    for (const Casting& c : CastingLog(path, CastingLog::Access::read).all()) {
        numbers.insert(c.number);
    }
    CHECK(numbers.size() == 40);
}

TEST_CASE("a kill in the middle leaves a whole log") {
    const Folder folder;
    const auto path = folder.file("log.db");
    { CastingLog log(path, CastingLog::Access::write); }
    for (int round = 0; round < 5; ++round) {
        const pid_t child = fork();
        if (child == 0) {
            // Nothing of the test's own may run on in the child.
            try {
                CastingLog log(path, CastingLog::Access::write);
                for (;;) {
                    log.add(bell(50));
                    usleep(2000);
                }
            } catch (...) {
                _exit(1);
            }
        }
        // Killed in the middle of its work, not before it has begun.
        const auto count = [&path] {
            return CastingLog(path, CastingLog::Access::read).all().size();
        };
        const std::size_t before = count();
        while (count() < before + 3) {
            usleep(1000);
        }
        kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
        std::int64_t expected = 0;
        for (const Casting& c : CastingLog(path, CastingLog::Access::write).all()) {
            CHECK(c.number == ++expected);
            CHECK(c.part_mass_g == 50.0);
        }
        CHECK(expected > 0);
    }
}

// castings_1.db was written by this program before its logs knew skin volume, free rise and what
// stayed in the cups: four castings added, the last one taken back.
TEST_CASE("a log of the first version is read and left as it is") {
    const Folder folder;
    const auto path = folder.file("log.db");
    std::filesystem::copy_file(kFirstLog, path);
    const std::string before = bytes_of(path);
    check_first_log(CastingLog(path, CastingLog::Access::read).all());
    CHECK(bytes_of(path) == before);
    // Opened for writing, with nothing written; a casting that is refused writes nothing.
    CastingLog log(path, CastingLog::Access::write);
    CHECK_THROWS_AS(log.add(bell(62)), InvalidInput);
    CHECK(bytes_of(path) == before);
    check_first_log(log.all());
}

TEST_CASE("a log of the first version keeps every value when the first casting is added") {
    const Folder folder;
    const auto path = folder.file("log.db");
    std::filesystem::copy_file(kFirstLog, path);
    // Opened before the other raises the version.
    const CastingLog reader(path, CastingLog::Access::read);
    check_first_log(reader.all());
    {
        CastingLog log(path, CastingLog::Access::write);
        Casting c = bell(50);
        c.skin_reference_mm = 1.0;
        c.skin_volume_mm3 = 60000.0;
        c.stayed_mass_g = 2.5;
        c.free_rise_mass_g = 4.0;
        c.free_rise_volume_ml = 32.0;
        CHECK(log.add(c) == 5);  // 4 was given once, and taken back
    }
    for (const auto& castings : {reader.all(), CastingLog(path, CastingLog::Access::read).all()}) {
        REQUIRE(castings.size() == 4);
        check_first_log({castings.begin(), castings.begin() + 3});
        CHECK(castings[3].skin_reference_mm == 1.0);
        CHECK(castings[3].skin_volume_mm3 == 60000.0);
        CHECK(castings[3].stayed_mass_g == 2.5);
        CHECK(castings[3].free_rise_mass_g == 4.0);
        CHECK(castings[3].free_rise_volume_ml == 32.0);
    }
    // The columns and values of the first version, asked of SQLite itself.
    CHECK(dump(path, "number < 4") == dump(kFirstLog, "1"));
    CHECK(CastingLog(path, CastingLog::Access::write).undo("2026-11-26")->number == 5);
    check_first_log(CastingLog(path, CastingLog::Access::read).all());
}

TEST_CASE("undo on a log of the first version takes the last one back and nothing else") {
    const Folder folder;
    const auto path = folder.file("log.db");
    std::filesystem::copy_file(kFirstLog, path);
    CHECK(CastingLog(path, CastingLog::Access::write).undo("2026-11-26")->verdict == "lost");
    CHECK(CastingLog(path, CastingLog::Access::read).all().size() == 2);
    CHECK(dump(path, "1") == dump(kFirstLog, "number < 3"));
}

TEST_CASE("several programs at once bring an old log up to date once") {
    const Folder folder;
    const auto path = folder.file("log.db");
    std::filesystem::copy_file(kFirstLog, path);
    std::vector<std::thread> writers;
    for (int w = 0; w < 4; ++w) {
        writers.emplace_back(
            [&path] { CastingLog(path, CastingLog::Access::write).add(bell(50)); });
    }
    for (std::thread& writer : writers) {
        writer.join();
    }
    auto castings = CastingLog(path, CastingLog::Access::read).all();
    CHECK(castings.size() == 7);
    castings.resize(3);
    check_first_log(castings);
}

TEST_CASE("a log of a later version is refused, to read and to write") {
    const Folder folder;
    const auto path = folder.file("log.db");
    CastingLog open(path, CastingLog::Access::write);
    open.add(bell(50));
    run_sql(path, "PRAGMA user_version = 4");
    const std::string before = bytes_of(path);
    CHECK(complaint(path, CastingLog::Access::read).find("later version") != std::string::npos);
    CHECK(complaint(path, CastingLog::Access::write).find("later version") != std::string::npos);
    // Raised by another program while this one had it open.
    CHECK_THROWS_AS(open.add(bell(50)), UnusableInput);
    CHECK_THROWS_AS(static_cast<void>(open.all()), UnusableInput);
    CHECK(bytes_of(path) == before);
}
