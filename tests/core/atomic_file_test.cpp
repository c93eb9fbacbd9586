// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"

#include <fstream>
#include <iterator>
#include <string>
#include <unistd.h>

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "cavigram/core/error.h"

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
