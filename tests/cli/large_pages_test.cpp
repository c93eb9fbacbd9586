// SPDX-License-Identifier: GPL-3.0-or-later
// Linked with tools/cavigram/large_pages.cpp, so that this program allocates as cavigram does.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <new>
#include <vector>

#include <doctest/doctest.h>

namespace {

constexpr std::size_t kMiB = std::size_t{1} << 20;

}  // namespace

TEST_CASE("arrays of any size hold what is put into them") {
    for (const std::size_t bytes : {std::size_t{0}, std::size_t{1}, 2 * kMiB, 4 * kMiB - 1,
                                    4 * kMiB, 4 * kMiB + 1, 6 * kMiB, 37 * kMiB + 5}) {
        CAPTURE(bytes);
        std::vector<unsigned char> values(bytes, 0xA5);
        values.push_back(0x5A);  // moves them all
        CHECK(std::count(values.begin(), values.end(), 0xA5) == static_cast<std::ptrdiff_t>(bytes));
    }
}

// Sanitizers bring their own allocation, which ends the program where memory can't be had.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
TEST_CASE("a large array begins with a large page, whatever was freed before") {
    for (int round = 0; round < 20; ++round) {
        const std::vector<char> small(static_cast<std::size_t>(round) * 100'001);
        const std::vector<char> large(5 * kMiB + static_cast<std::size_t>(round) * 77'777);
        CHECK(reinterpret_cast<std::uintptr_t>(large.data()) % (2 * kMiB) == 0);
    }
}

TEST_CASE("what can't be had is asked of the handler, then refused") {
    static int handled = 0;
    // A handler that gives up after the second call, as the standard has it.
    std::set_new_handler([] {
        if (++handled == 2) {
            std::set_new_handler(nullptr);
        }
    });
    const volatile std::size_t too_much = std::numeric_limits<std::size_t>::max() / 4;
    CHECK_THROWS_AS(static_cast<void>(::operator new(too_much)), std::bad_alloc);
    CHECK(handled == 2);
    CHECK(::operator new(too_much, std::nothrow) == nullptr);
}
#endif
