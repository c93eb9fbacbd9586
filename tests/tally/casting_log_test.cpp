// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting_log.h"

#include <fstream>
#include <set>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

#include <doctest/doctest.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

using namespace cavigram;

namespace {

// A folder of its own, gone at the end.
class Folder {
  public:
    Folder()
        : path_(std::filesystem::temp_directory_path() /
                format("cavigram_tally_%d_%d", getpid(), counter_++)) {
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

}  // namespace

TEST_CASE("add, list, undo; numbers are not used twice; what was not weighed stays empty") {
    const Folder folder;
    CastingLog log(folder.file("deep/log.db"), CastingLog::Access::write);
    CHECK(log.all().empty());
    CHECK_FALSE(log.undo());
    CHECK(log.add(bell(50)) == 1);
    CHECK(log.add(bell(51)) == 2);
    CHECK(log.undo()->part_mass_g == 51.0);
    CHECK(log.add(bell(52)) == 3);
    const auto castings = CastingLog(folder.file("deep/log.db"), CastingLog::Access::read).all();
    REQUIRE(castings.size() == 2);
    CHECK(castings[1].part == "ship's bell, \"soft\"");
    CHECK(castings[1].note == "cold room,\nslow rise");
    CHECK_FALSE(castings[1].flash_mass_g);
    CHECK(castings[1].part_mass_g == 52.0);
}

TEST_CASE("impossible masses are refused and change nothing") {
    const Folder folder;
    CastingLog log(folder.file("log.db"), CastingLog::Access::write);
    Casting c = bell(61);
    CHECK_THROWS_AS(log.add(c), InvalidInput);  // more than was poured
    c = bell(-1);
    CHECK_THROWS_AS(log.add(c), InvalidInput);
    c = bell(50);
    c.flash_mass_g = 11.0;
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

TEST_CASE("CSV by RFC 4180") {
    Casting c = bell(50);
    c.number = 7;
    const std::string csv = castings_csv({c});
    CHECK(csv.find("number,date,part") == 0);
    CHECK(csv.find("7,2026-11-24,\"ship's bell, "
                   "\"\"soft\"\"\",,generic-firm,50:100,269000,68000,60,50,,,good,\"cold "
                   "room,\nslow rise\"\r\n") != std::string::npos);
}
