// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/off_reader.h"

#include <numbers>

#include <fmt/core.h>

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

const char* const kFaces =
    "3 0 2 3\n3 0 3 1\n3 4 5 7\n3 4 7 6\n3 0 1 5\n3 0 5 4\n3 2 6 7\n3 2 7 3\n3 0 4 6\n3 0 6 2\n3 1 "
    "3 7\n3 1 7 5\n";
const char* const kVertices = "0 0 0\n2 0 0\n0 3 0\n2 3 0\n0 0 4\n2 0 4\n0 3 4\n2 3 4\n";

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = text.find(from); at != text.npos; at = text.find(from, at + to.size())) {
        text.replace(at, from.size(), to);
    }
    return text;
}

}  // namespace

TEST_CASE("OFF in the forms that programs write") {
    const std::string vertices = kVertices;
    const std::string faces = kFaces;
    const std::string plain = "OFF\n8 12 0\n" + vertices + faces;
    struct Row {
        const char* what;
        std::string text;
    };
    const std::vector<Row> rows = {
        {"plain", plain},
        {"counts behind the word", "OFF 8 12 18\n" + vertices + faces},
        {"no number of edges", "OFF\n8 12\n" + vertices + faces},
        {"no word", "8 12 0\n" + vertices + faces},
        {"CRLF", replaced(plain, "\n", "\r\n")},
        {"CR alone", replaced(plain, "\n", "\r")},
        {"byte order mark", "\xEF\xBB\xBF" + plain},
        {"blank lines and comments",
         "# first\n" + replaced(plain, "\n", " # and so on\n\n  # more\n")},
        {"tabs and blanks", replaced(replaced(plain, " ", " \t "), "\n", "  \n  ")},
        {"colors at the vertices",
         "COFF\n8 12 0\n" + replaced(vertices, "\n", " 255 0 0 255\n") + faces},
        {"normals at the vertices",
         "NOFF\n8 12 0\n" + replaced(vertices, "\n", " 0 0 1\n") + faces},
        {"colors at the faces",
         "OFF\n8 12 0\n" + vertices + replaced(faces, "\n", " 0.5 0.5 0.5\n")},
        {"exponents and signs", "OFF\n8 12 0\n" + replaced(vertices, "2 ", "+2.0e0 ") + faces},
        {"no line end at the last", plain.substr(0, plain.size() - 1)},
        {"more behind the last face", plain + "something else\n"},
        {"points and lines among the faces",
         "OFF\n8 15 0\n" + vertices + "1 0\n2 0 1\n0\n" + faces},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        const Soup soup = parse_off(row.text);
        CHECK(keeps_promises(soup));
        CHECK(soup.format == "off");
        CHECK(soup.mesh.vertices.size() == 8);
        CHECK(soup.triangles_in_file == 12);
        CHECK(soup.findings.empty());
        CHECK_NEAR(plain_volume(soup.mesh), 24.0, 1e-15);
        CHECK_NEAR(plain_area(soup.mesh), 52.0, 1e-15);
    }
}

TEST_CASE("OFF polygons of more than nine corners are kept") {
    // Assimp 5.2.5 leaves them out without a word, which opens the lid of this prism.
    constexpr int kSides = 40;
    std::string vertices;
    std::string bottom;
    std::string top;
    std::string sides;
    for (int i = 0; i < kSides; ++i) {
        const double angle = 2.0 * std::numbers::pi * i / kSides;
        for (const int z : {0, 1}) {
            vertices += fmt::format("{:.17g} {:.17g} {}\n", std::cos(angle), std::sin(angle), z);
        }
        const int next = (i + 1) % kSides;
        bottom += fmt::format(" {}", 2 * (kSides - 1 - i));
        top += fmt::format(" {}", 2 * i + 1);
        sides += fmt::format("4 {} {} {} {}\n", 2 * i, 2 * next, 2 * next + 1, 2 * i + 1);
    }
    const Soup soup = parse_off(fmt::format("OFF\n{} {} 0\n", 2 * kSides, kSides + 2) + vertices +
                                "40" + bottom + "\n40" + top + "\n" + sides);
    // Regular prism: n/2 sin(2 pi/n) of base.
    CHECK_NEAR(plain_volume(soup.mesh), 20.0 * std::sin(2.0 * std::numbers::pi / kSides), 1e-14);
}

TEST_CASE("OFF numbers are read as doubles") {
    const Soup soup = parse_off("OFF\n3 1 0\n4000000.654 0.1 1e-7\n1 0 0\n0 1 0\n3 0 1 2\n");
    CHECK(soup.mesh.vertices[0] == Vec3(4000000.654, 0.1, 1e-7));
}

TEST_CASE("OFF that ends early or has bad numbers") {
    const std::string plain = std::string("OFF\n8 12 0\n") + kVertices + kFaces;
    const std::string counted = replaced(plain, "8 12 0", "8 4000000000 0");
    check_sentence(refusal([&] { return parse_off(counted); }));
    const Soup more = parse_off(counted, "the part", true);
    CHECK(more.mesh.triangles.size() == 12);
    CHECK(has_finding(more, "file_cut_short"));
    const Soup nan = parse_off(replaced(plain, "2 3 4\n", "2 nan 4\n"));
    CHECK(keeps_promises(nan));
    CHECK(nan.dropped_nonfinite + nan.mesh.triangles.size() == 12);
    CHECK(nan.dropped_nonfinite > 0);
    const Soup far = parse_off(replaced(plain, "2 3 4\n", "2 1e30 4\n"));
    CHECK(far.dropped_out_of_range == nan.dropped_nonfinite);
    for (const std::string& text :
         {std::string("OFF"), std::string("OFF\n"), std::string("OFF\n0 0 0\n"),
          std::string("OFF BINARY\n\1\2\3"), std::string("# nothing\n"),
          std::string("OFF\n999999999999 1 0\n0 0 0\n"), std::string("OFF\n-3 1 0\n"),
          std::string("OFF\n3 1 0\n0 0 0\n1 0 0\n"),
          std::string("OFF\n99999999999999999999999 1 0\n"), replaced(plain, "3 1 7 5", "3 1 8 5"),
          replaced(plain, "3 1 7 5", "3 1 -7 5"), replaced(plain, "3 1 7 5", "3 1 7"),
          replaced(plain, "3 1 7 5", "99999999999 1 7 5"), replaced(plain, "2 3 4\n", "2 3\n"),
          replaced(plain, "2 3 4\n", "2 3,5 4\n"),
          std::string("OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n2 0 1\n")}) {
        CAPTURE(text.substr(0, 60));
        check_sentence(refusal([&] { return parse_off(text, "a.off"); }));
    }
    for (std::size_t size = 0; size < plain.size(); ++size) {
        try {
            const Soup cut = parse_off(plain.substr(0, size), "the part", size % 2 == 0);
            CHECK(keeps_promises(cut));
            CHECK(cut.mesh.triangles.size() <= 12);
        } catch (const UnusableInput& error) {
            check_sentence(error.what());
        }
    }
}
