// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstring>
#include <limits>
#include <random>
#include <sys/mman.h>

#include "cavigram/io/soup_wire_detail.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"

using namespace io_test;

namespace {

// What `send` writes to a file.
template <class Send>
std::string sent(const Send& send) {
    const int file = ::memfd_create("test", MFD_CLOEXEC);
    REQUIRE(file >= 0);
    send(file);
    std::string bytes(static_cast<std::size_t>(::lseek(file, 0, SEEK_END)), '\0');
    REQUIRE(::pread(file, bytes.data(), bytes.size(), 0) == static_cast<ssize_t>(bytes.size()));
    ::close(file);
    return bytes;
}

std::optional<WireAnswer> got(std::string_view bytes) {
    return receive(std::as_bytes(std::span(bytes)));
}

Soup sample(bool as_float, bool counting) {
    Soup soup;
    soup.mesh = box_solid(2, 3, 4).mesh;
    if (counting) {
        TriMesh open;
        for (std::size_t t = 0; t < soup.mesh.triangles.size(); ++t) {
            const auto next = static_cast<std::int32_t>(open.vertices.size());
            open.triangles.push_back({next, next + 1, next + 2});
            for (int i = 0; i < 3; ++i) {
                open.vertices.push_back(soup.mesh.corner(t, i));
            }
        }
        soup.mesh = open;
    }
    if (!as_float) {
        soup.mesh.vertices[5] = Vec3(1.0 / 3.0, -1e-300, 12345.678901234567);
    }
    soup.format = "3mf";
    soup.triangles_in_file = 15;
    soup.unit_mm = 25.4;
    soup.dropped_nonfinite = 1;
    soup.dropped_out_of_range = 2;
    soup.findings.push_back(
        {Severity::warning, "trailing_bytes", "Some text; with a remedy.", {{1.0, 2.0, 3.0}}});
    soup.findings.push_back({Severity::note, "pose_ignored", "Text.", {}});
    return soup;
}

}  // namespace

TEST_CASE("a soup comes through unchanged, as float or double, with or without indices") {
    for (const bool as_float : {true, false}) {
        for (const bool counting : {true, false}) {
            CAPTURE(as_float);
            CAPTURE(counting);
            const Soup soup = sample(as_float, counting);
            const auto answer = got(sent([&](int file) { send_soup(file, soup); }));
            REQUIRE(answer.has_value());
            REQUIRE(answer->soup.has_value());
            const Soup& same = *answer->soup;
            CHECK(same.mesh.vertices == soup.mesh.vertices);
            CHECK(same.mesh.triangles == soup.mesh.triangles);
            CHECK(same.format == soup.format);
            CHECK(same.triangles_in_file == 15);
            CHECK(same.unit_mm == 25.4);
            CHECK(same.dropped_nonfinite == 1);
            CHECK(same.dropped_out_of_range == 2);
            REQUIRE(same.findings.size() == 2);
            CHECK(to_text(same.findings[0].code) == "trailing_bytes");
            CHECK(same.findings[0].severity == Severity::warning);
            CHECK(same.findings[0].text == "Some text; with a remedy.");
            CHECK(same.findings[0].at_mm == soup.findings[0].at_mm);
            CHECK(same.findings[1].at_mm.empty());
        }
    }
    Soup unitless = sample(true, false);
    unitless.unit_mm.reset();
    CHECK_FALSE(got(sent([&](int file) { send_soup(file, unitless); }))->soup->unit_mm.has_value());
}

TEST_CASE("a refusal comes through") {
    const auto answer =
        got(sent([](int file) { send_refusal(file, "Can't use it: why; remedy."); }));
    REQUIRE(answer.has_value());
    CHECK_FALSE(answer->soup.has_value());
    CHECK(answer->refusal == "Can't use it: why; remedy.");
    // With its marks, which are control characters.
    const std::string marked = "Can't use it: too long; give " + setting("partial") + ".";
    const auto told = got(sent([&](int file) { send_refusal(file, marked); }));
    REQUIRE(told.has_value());
    CHECK(told->refusal == marked);
}

TEST_CASE("a soup that breaks a promise is not believed") {
    const auto received = [](const Soup& soup) {
        return got(sent([&](int file) { send_soup(file, soup); })).has_value();
    };
    REQUIRE(received(sample(false, false)));
    for (const double bad : {std::numeric_limits<double>::quiet_NaN(),
                             std::numeric_limits<double>::infinity(), 1.1e9, -1e300}) {
        for (const bool as_float : {true, false}) {
            Soup soup = sample(as_float, false);
            soup.mesh.vertices[3][1] = bad;
            CHECK_FALSE(received(soup));
        }
    }
    for (const std::int32_t bad : {8, -1, std::numeric_limits<std::int32_t>::max(),
                                   std::numeric_limits<std::int32_t>::min()}) {
        Soup soup = sample(true, false);
        soup.mesh.triangles[3][1] = bad;
        CHECK_FALSE(received(soup));
    }
    Soup soup = sample(true, false);
    soup.mesh.triangles.clear();
    CHECK_FALSE(received(soup));
    soup = sample(true, false);
    soup.unit_mm = std::numeric_limits<double>::infinity();
    CHECK_FALSE(received(soup));
    soup = sample(true, false);
    soup.unit_mm = -1.0;
    CHECK_FALSE(received(soup));
    // A coordinate in that unit is no number any more.
    soup = sample(true, false);
    soup.unit_mm = 1e300;
    CHECK_FALSE(received(soup));
    // More triangles came or were left out than there were, or so many that a sum overflows.
    for (const std::size_t bad : {std::size_t{0}, std::size_t{14}}) {
        soup = sample(true, false);
        soup.triangles_in_file = bad;
        CHECK_FALSE(received(soup));
    }
    soup = sample(true, false);
    soup.dropped_nonfinite = std::numeric_limits<std::size_t>::max() - 1;
    CHECK_FALSE(received(soup));
    soup = sample(true, false);
    soup.findings[0].text = "two\nlines";
    CHECK_FALSE(received(soup));
    soup = sample(true, false);
    soup.findings[0].severity = static_cast<Severity>(9);
    CHECK_FALSE(received(soup));
    soup = sample(true, false);
    soup.findings[0].at_mm[0][2] = std::numeric_limits<double>::quiet_NaN();
    CHECK_FALSE(received(soup));
}

TEST_CASE("any bytes at all give a sound soup, a refusal or nothing") {
    const std::string soup = sent([](int file) { send_soup(file, sample(true, false)); });
    const std::string refusal_bytes = sent([](int file) { send_refusal(file, "Why; remedy."); });
    const auto sound = [](std::string_view bytes) {
        const auto answer = got(bytes);
        return !answer || (answer->soup ? keeps_promises(*answer->soup) : !answer->refusal.empty());
    };
    for (const std::string& good : {soup, refusal_bytes}) {
        for (std::size_t size = 0; size < good.size(); ++size) {
            CHECK_FALSE(got(good.substr(0, size)).has_value());
        }
        CHECK_FALSE(got(good + "x").has_value());
        std::mt19937 random(11);  // NOLINT: a fixed seed, so that a failure comes back
        for (int i = 0; i < 20000; ++i) {
            std::string bad = good;
            for (int k = 0; k <= i % 3; ++k) {
                bad[random() % bad.size()] = static_cast<char>(random());
            }
            CHECK(sound(bad));
        }
        // Every number of the header in turn, as the largest there is.
        for (std::size_t at = 0; at + 8 <= good.size() && at < 80; at += 8) {
            std::string bad = good;
            std::memset(bad.data() + at, 0xFF, 8);
            CHECK(sound(bad));
            bad[at + 7] = 0x7F;
            CHECK(sound(bad));
        }
    }
}
