// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"

#include <csignal>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <string>
#include <sys/file.h>
#include <sys/resource.h>
#include <unistd.h>

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "cavigram/core/error.h"

#include "support/refusal.h"

using namespace cavigram;

namespace {

std::string contents(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("a file is replaced whole, leaves nothing beside it, and failing leaves the old one") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_atomic_{}", getpid());
    make_folder(folder / "deep" / "er");
    const auto path = folder / "deep" / "er" / "x.txt";
    write_file(path, "old");
    write_file(path, std::string(100000, 'n'));
    CHECK(contents(path) == std::string(100000, 'n'));
    CHECK(std::distance(std::filesystem::directory_iterator(path.parent_path()), {}) == 1);

    std::filesystem::create_directory(folder / "taken");
    CHECK_THROWS_AS(write_file(folder / "taken", "x"), WriteError);
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 2);
    CHECK_THROWS_AS(write_file(folder / "missing" / "x", "x"), WriteError);
    CHECK_THROWS_AS(make_folder(path), WriteError);
    std::filesystem::remove_all(folder);
}

TEST_CASE(
    "a set of files is replaced together or not at all, and what it lacks goes with the old") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_set_{}", getpid());
    make_folder(folder);
    const auto count = [&] {
        return std::distance(std::filesystem::directory_iterator(folder), {});
    };
    write_files(folder, {{"a", "old a"}, {"b", "old b"}, {"only.old", "x"}});
    write_file(folder / "own", "of the person");
    write_files(folder, {{"a", "new a"}, {"b", "new b"}}, {"only.old", "never.there"});
    CHECK(contents(folder / "a") == "new a");
    CHECK(contents(folder / "b") == "new b");
    CHECK(contents(folder / "own") == "of the person");
    CHECK(count() == 3);
    // Nothing else in the folder: another takes its place, with its rights, and nothing is left
    // beside it.
    const auto set = folder / "set";
    make_folder(set);
    std::filesystem::permissions(set, std::filesystem::perms::owner_all);
    write_files(set, {{"a", "old a"}, {"gone", "x"}});
    write_files(set, {{"a", "new a"}}, {"gone"});
    CHECK(contents(set / "a") == "new a");
    CHECK(std::distance(std::filesystem::directory_iterator(set), {}) == 1);
    CHECK(std::filesystem::status(set).permissions() == std::filesystem::perms::owner_all);
    CHECK(count() == 4);
    make_folder(folder / ".set.a1B2c3");  // of a run that was killed
    write_file(folder / ".set.a1B2c3" / "a", "newest");
    write_files(set, {{"a", "again"}});
    CHECK(count() == 4);
    std::filesystem::remove_all(set);
    // The last one can't be placed or not even begun: the first stays as it was.
    std::filesystem::create_directory(folder / "c");
    const std::string too_long(300, 'n');
    for (const std::string& name : {std::string("c"), too_long}) {
        CHECK_THROWS_AS(write_files(folder, {{"a", "newest"}, {name, "x"}}, {"b"}), WriteError);
        CHECK(contents(folder / "a") == "new a");
        CHECK(contents(folder / "b") == "new b");
        CHECK(count() == 4);
    }
    std::filesystem::remove_all(folder);
}

TEST_CASE("the working folder stays the same folder: who stands in it sees the new set") {
    const auto before = std::filesystem::current_path();
    const auto folder = std::filesystem::temp_directory_path() /
                        ("cavigram_working_folder_" + std::to_string(::getpid()));
    make_folder(folder);
    std::filesystem::current_path(folder);
    write_files(".", {{"a", "old"}, {"gone", "x"}});
    write_files(folder, {{"a", "new"}}, {"gone"});
    CHECK(std::filesystem::exists("a"));
    CHECK(std::filesystem::file_size("a") == 3);
    CHECK_FALSE(std::filesystem::exists("gone"));
    std::filesystem::current_path(before);
    CHECK(std::filesystem::exists(folder / "a"));
    std::filesystem::remove_all(folder);
}

TEST_CASE("what a killed run left unfinished is removed by the next, what another writes is not") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_leftover_{}", getpid());
    make_folder(folder);
    const auto leave = [&](const char* name) {
        std::ofstream(folder / name) << "half";
        return folder / name;
    };
    const auto left = leave(".plan.json.a1B2c3");
    const auto other = leave(".plan.json.old");         // not one of ours
    const auto another = leave(".summary.txt.a1B2c3");  // of another file
    const auto held = leave(".plan.json.Zz9Yy8");
    const int holder = ::open(held.c_str(), O_RDONLY);
    REQUIRE(::flock(holder, LOCK_EX | LOCK_NB) == 0);
    write_file(folder / "plan.json", "whole");
    CHECK_FALSE(std::filesystem::exists(left));
    CHECK(std::filesystem::exists(other));
    CHECK(std::filesystem::exists(another));
    CHECK(std::filesystem::exists(held));
    ::close(holder);
    write_file(folder / "plan.json", "whole");
    CHECK_FALSE(std::filesystem::exists(held));
    CHECK(contents(folder / "plan.json") == "whole");
    std::filesystem::remove_all(folder);
}

namespace {

// Lowers a limit of this process, and gives it back.
class Limited {
  public:
    Limited(__rlimit_resource what, rlim_t most) : what_(what) {
        ::getrlimit(what_, &before_);
        rlimit now = before_;
        now.rlim_cur = most;
        ::setrlimit(what_, &now);
    }
    Limited(const Limited&) = delete;
    Limited& operator=(const Limited&) = delete;
    ~Limited() { ::setrlimit(what_, &before_); }

  private:
    __rlimit_resource what_;
    rlimit before_{};
};

}  // namespace

// What setrlimit(2) says: no file grows beyond RLIMIT_FSIZE (EFBIG), and no descriptor is
// RLIMIT_NOFILE or more (EMFILE).
TEST_CASE("where the system takes no more, the sentence says why and the old files stay whole") {
    const auto base =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_no_more_{}", getpid());
    const auto folder = base / "set";
    make_folder(folder);
    write_files(folder, {{"a", "old a"}, {"b", "old b"}});
    const std::string large(100000, 'n');
    const auto refusals = [&](const std::string& reason) {
        const std::string one = refusal_of<WriteError>([&] {
            write_file(folder / "a", large);
            return 0;
        });
        const std::string both = refusal_of<WriteError>([&] {
            write_files(folder, {{"a", "new a"}, {"b", large}});
            return 0;
        });
        CHECK(one == fmt::format("Can't write {}: {}.", (folder / "a").string(), reason));
        CHECK(both.find(fmt::format(": {}.", reason)) != std::string::npos);
        // With the name that the person knows, not the one of a draft.
        CHECK(both.find(fmt::format("Can't write {}/", folder.string())) == 0);
        CHECK(both.find("/.") == std::string::npos);
    };
    {
        const auto signal_before = std::signal(SIGXFSZ, SIG_IGN);
        const Limited size(RLIMIT_FSIZE, 50000);
        refusals("File too large; choose a folder that you may write to");
        std::signal(SIGXFSZ, signal_before);
    }
    {
        const int next = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
        REQUIRE(next >= 0);
        ::close(next);
        const Limited handles(RLIMIT_NOFILE, static_cast<rlim_t>(next));
        refusals("Too many open files; close other programs and try again");
    }
    CHECK(contents(folder / "a") == "old a");
    CHECK(contents(folder / "b") == "old b");
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 2);
    CHECK(std::distance(std::filesystem::directory_iterator(base), {}) == 1);
    std::filesystem::remove_all(base);
}

TEST_CASE("a place that can't be written to is refused before, and nothing is made") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_place_{}", getpid());
    make_folder(folder);
    write_file(folder / "file", "x");
    std::filesystem::create_symlink(folder / "nowhere", folder / "link");
    check_folder_place(folder);
    check_folder_place(folder / "new" / "deep");
    check_folder_place("relative_and_new");
    check_file_place(folder / "file");
    check_file_place(folder / "new");
    check_file_place("relative");
    CHECK_THROWS_AS(check_folder_place(folder / "file"), WriteError);
    CHECK_THROWS_AS(check_folder_place(folder / "file" / "deep"), WriteError);
    CHECK_THROWS_AS(check_folder_place(folder / "link"), WriteError);
    CHECK_THROWS_AS(check_folder_place("/proc/no/such"), WriteError);
    CHECK_THROWS_AS(check_file_place(folder), WriteError);
    CHECK_THROWS_AS(check_file_place(folder / "missing" / "x"), WriteError);
    CHECK_THROWS_AS(check_file_place(folder / "file" / "x"), WriteError);
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 2);
    std::filesystem::remove_all(folder);
}
