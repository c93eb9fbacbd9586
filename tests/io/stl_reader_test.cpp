// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/stl_reader.h"

#include <algorithm>
#include <limits>

#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

// 2 x 3 x 4: volume 24, area 52, twelve triangles, all numbers exact in float32.
const TriMesh& box() {
    static const TriMesh mesh = box_solid(2, 3, 4).mesh;
    return mesh;
}

void check_is_box(const Soup& soup) {
    CHECK(keeps_promises(soup));
    CHECK(soup.mesh.triangles.size() == 12);
    CHECK(soup.mesh.vertices.size() == 36);
    CHECK_NEAR(plain_volume(soup.mesh), 24.0, 1e-15);
    CHECK_NEAR(plain_area(soup.mesh), 52.0, 1e-15);
    CHECK_FALSE(soup.unit_mm.has_value());
}

// The box with one coordinate of one corner of its fifth triangle replaced.
std::string box_bytes_with(float value) {
    std::string bytes = stl_of(box());
    std::memcpy(bytes.data() + 84 + 50 * 4 + 12 + 4 * 7, &value, sizeof value);
    return bytes;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = text.find(from); at != text.npos; at = text.find(from, at + to.size())) {
        text.replace(at, from.size(), to);
    }
    return text;
}

}  // namespace

TEST_CASE("binary STL as it should be, and with a header that starts like ASCII") {
    for (const char* header : {"made by a test", "solid part from a scanner", "SOLID", ""}) {
        CAPTURE(header);
        const Soup soup = parse_stl(stl_of(box(), 12, header));
        check_is_box(soup);
        CHECK(soup.format == "stl-binary");
        CHECK(soup.triangles_in_file == 12);
        CHECK(soup.findings.empty());
    }
}

TEST_CASE("binary STL whose header starts with solid and which has trailing bytes") {
    // The case that Assimp 5.2.5 reads as an empty scene without an error (algorithms.md, section
    // 1).
    std::string header = "solid part";
    header.resize(80, ' ');
    const Soup soup = parse_stl(stl_of(box(), 12, header) + "x");
    check_is_box(soup);
    CHECK(has_finding(soup, "trailing_bytes"));
    CHECK(soup.findings.front().severity == Severity::note);
}

TEST_CASE("counts that lie") {
    SUBCASE("too large") {
        for (const std::uint32_t count : {13U, 1000000U, 0xFFFFFFFFU}) {
            const std::string text = refusal([&] { return parse_stl(stl_of(box(), count)); });
            check_sentence(text);
            CHECK(text.find(std::to_string(count)) != std::string::npos);
            const Soup soup = parse_stl(stl_of(box(), count), "the part", true);
            check_is_box(soup);
            CHECK(has_finding(soup, "file_cut_short"));
            CHECK(soup.findings.front().text.find(std::to_string(count)) != std::string::npos);
        }
    }
    SUBCASE("zero with records behind it") {
        const Soup soup = parse_stl(stl_of(box(), 0));
        check_is_box(soup);
        CHECK(has_finding(soup, "count_zero"));
    }
    SUBCASE("too small: what is beyond the count is left out, and said") {
        const Soup soup = parse_stl(stl_of(box(), 10));
        CHECK(soup.mesh.triangles.size() == 10);
        CHECK(has_finding(soup, "trailing_bytes"));
        CHECK(soup.findings.front().severity == Severity::warning);
        CHECK(soup.findings.front().text.find("100 bytes") != std::string::npos);
    }
    SUBCASE("last record cut") {
        std::string bytes = stl_of(box());
        bytes.resize(bytes.size() - 7);
        const std::string text = refusal([&] { return parse_stl(bytes); });
        check_sentence(text);
        CHECK(text.find("12 triangles but ends after 11") != std::string::npos);
        const Soup soup = parse_stl(bytes, "the part", true);
        CHECK(soup.mesh.triangles.size() == 11);
        CHECK(has_finding(soup, "file_cut_short"));
        CHECK(keeps_promises(soup));
    }
}

TEST_CASE("binary facets with bad numbers are left out, counted and reported") {
    constexpr float kInfinity = std::numeric_limits<float>::infinity();
    struct Row {
        float value;
        std::size_t nonfinite;
        std::size_t out_of_range;
    };
    for (const Row& row :
         {Row{std::numeric_limits<float>::quiet_NaN(), 1, 0}, Row{kInfinity, 1, 0},
          Row{-kInfinity, 1, 0}, Row{1e30F, 0, 1}, Row{-1.01e9F, 0, 1}, Row{1e9F, 0, 0}}) {
        CAPTURE(row.value);
        const Soup soup = parse_stl(box_bytes_with(row.value));
        CHECK(keeps_promises(soup));
        CHECK(soup.triangles_in_file == 12);
        CHECK(soup.dropped_nonfinite == row.nonfinite);
        CHECK(soup.dropped_out_of_range == row.out_of_range);
        CHECK(soup.mesh.triangles.size() == 12 - row.nonfinite - row.out_of_range);
        CHECK(has_finding(soup, "triangles_not_finite") == (row.nonfinite > 0));
        CHECK(has_finding(soup, "triangles_out_of_range") == (row.out_of_range > 0));
    }
}

TEST_CASE("nothing usable in a binary file is refused in one sentence") {
    TriMesh far = box();
    for (Vec3& v : far.vertices) {
        v.array() += 1e30;
    }
    const std::string all_far = refusal([&] { return parse_stl(stl_of(far), "far.stl"); });
    check_sentence(all_far);
    CHECK(all_far.find("far.stl") != all_far.npos);
    CHECK(all_far.find("12 triangles") != all_far.npos);
    TriMesh none = box();
    for (Vec3& v : none.vertices) {
        v.setConstant(std::numeric_limits<double>::quiet_NaN());
    }
    check_sentence(refusal([&] { return parse_stl(stl_of(none)); }));
    check_sentence(refusal([&] { return parse_stl(""); }));
    check_sentence(refusal([&] { return parse_stl(std::string_view("\0", 1)); }));
    check_sentence(refusal([&] { return parse_stl(std::string(133, '\1')); }));
    check_sentence(refusal([&] { return parse_stl(stl_of(TriMesh(), 0)); }));
    // Bytes of another kind: every exponent of a float32 turns up, so the corners are all over the
    // place.
    std::string noise(5000, '\0');
    std::uint32_t state = 1;
    for (char& c : noise) {
        state = state * 1664525U + 1013904223U;
        c = static_cast<char>(state >> 24);
    }
    const std::string other = refusal([&] { return parse_stl(noise); });
    check_sentence(other);
    CHECK(other.find("neither STL") != other.npos);
}

TEST_CASE("a binary file that some program took for text is told from one with trailing bytes") {
    const std::string bytes = stl_of(transformed(torus_solid(30, 10, 24).mesh, 0.9, Vec3(1, 2, 3)));
    std::string replaced_high;
    std::string returns_added;
    for (const char c : bytes) {
        replaced_high += static_cast<unsigned char>(c) < 0x80 ? std::string(1, c) : "\xEF\xBF\xBD";
        returns_added += c == '\n' ? "\r\n" : std::string(1, c);
    }
    for (const std::string& damaged : {replaced_high, returns_added}) {
        const std::string text = refusal([&] { return parse_stl(damaged); });
        check_sentence(text);
        CHECK(text.find("took it for text") != text.npos);
    }
    CHECK(has_finding(parse_stl(bytes + "trailing"), "trailing_bytes"));
    CHECK(has_finding(parse_stl(stl_of(box()) + "a\r\nb\r\nc\r\nd\r\n"), "trailing_bytes"));
}

TEST_CASE("ASCII STL as programs write it") {
    const std::string plain = stl_text_of(box());
    std::string shouted = plain;
    std::transform(shouted.begin(), shouted.end(), shouted.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    struct Row {
        const char* what;
        std::string text;
    };
    const std::vector<Row> rows = {
        {"plain", plain},
        {"upper case", shouted},
        {"CRLF", stl_text_of(box(), "part", "\r\n")},
        {"CR alone", stl_text_of(box(), "part", "\r")},
        {"byte order mark", "\xEF\xBB\xBF" + plain},
        {"blank lines first", "\n\n  " + plain},
        {"no name", stl_text_of(box(), "")},
        {"keywords in the name", stl_text_of(box(), "facet vertex 1 2 3 endfacet solid")},
        {"tabs", replaced(plain, " ", "\t")},
        {"plus signs", replaced(plain, "vertex 2", "vertex +2")},
        {"exponents", replaced(plain, "vertex 2", "vertex 2.000000e+00")},
        {"tiny numbers", replaced(plain, "vertex 0 ", "vertex 1e-400 ")},
        {"normal of NaN", replaced(plain, "normal 0 0 0", "normal nan nan -nan(ind)")},
        {"normal missing", replaced(plain, "normal 0 0 0", "normal")},
        {"no normal", replaced(plain, "normal 0 0 0", "")},
        {"end-of-file mark of old systems", plain + "\x1A"},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        const Soup soup = parse_stl(row.text);
        check_is_box(soup);
        CHECK(soup.format == "stl-ascii");
        CHECK(soup.findings.empty());
        CHECK(looks_like_stl(row.text));
    }
}

TEST_CASE("several solids in one ASCII file are read as one soup") {
    const TriMesh shifted = transformed(box(), 1.0, Vec3(10, 0, 0));
    const Soup soup = parse_stl(stl_text_of(box(), "first") + stl_text_of(shifted, "second part"));
    CHECK(soup.mesh.triangles.size() == 24);
    CHECK_NEAR(plain_volume(soup.mesh), 48.0, 1e-14);
}

TEST_CASE("ASCII numbers are read as doubles") {
    TriMesh mesh = box();
    mesh.vertices[0] = Vec3(4000000.654, 1.0 / 3.0, -1e-7);
    const Soup soup = parse_stl(stl_text_of(mesh));
    CHECK(std::find(soup.mesh.vertices.begin(), soup.mesh.vertices.end(), mesh.vertices[0]) !=
          soup.mesh.vertices.end());
}

TEST_CASE("ASCII facets with bad numbers or missing corners are left out and reported") {
    const std::string plain = stl_text_of(box());
    const auto with = [&](const std::string& vertex) {
        std::string text = plain;
        const std::size_t at = text.find("vertex");
        return text.replace(at, text.find('\n', at) - at, vertex);
    };
    for (const char* vertex : {"vertex nan 0 0", "vertex 0 -inf 0", "vertex 0 0 NaN",
                               "vertex 0 1.#QNAN 0", "vertex 0 nan(ind) 0", "vertex 0 1e999 0"}) {
        CAPTURE(vertex);
        const Soup soup = parse_stl(with(vertex));
        CHECK(soup.mesh.triangles.size() == 11);
        CHECK(soup.dropped_nonfinite == 1);
        CHECK(has_finding(soup, "triangles_not_finite"));
    }
    const Soup far = parse_stl(with("vertex 0 1e30 0"));
    CHECK(far.dropped_out_of_range == 1);
    CHECK(has_finding(far, "triangles_out_of_range"));
    const Soup two = parse_stl(with(""));
    CHECK(two.mesh.triangles.size() == 11);
    CHECK(two.triangles_in_file == 12);
    CHECK(has_finding(two, "facets_incomplete"));
    // A facet with four corners, which some programs write, is cut in two.
    const Soup quad = parse_stl(
        "solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 1 1 0\nvertex 0 "
        "1 0\n"
        "endloop\nendfacet\nendsolid\n");
    CHECK(quad.mesh.triangles.size() == 2);
    CHECK_NEAR(plain_area(quad.mesh), 1.0, 1e-15);
}

TEST_CASE("ASCII STL that is cut off is refused, or taken as far as it goes as asked") {
    const std::string plain = stl_text_of(box());
    // Cut at any byte: within a facet the rest is missing for certain; between two facets nothing
    // but the missing end tells of it.
    for (std::size_t size = 200; size < plain.size() - 10; ++size) {
        const std::string head = plain.substr(0, size);
        const std::size_t open = head.rfind("  facet");
        const std::size_t closed = head.rfind("endfacet");
        if (open != head.npos && (closed == head.npos || open > closed)) {
            const std::string text = refusal([&] { return parse_stl(head, "cut.stl"); });
            check_sentence(text);
            CHECK(text.find("ends within a facet") != std::string::npos);
        } else {
            CHECK(parse_stl(head).mesh.triangles.size() <= 12);
        }
        const Soup cut = parse_stl(head, "cut.stl", true);
        CHECK(keeps_promises(cut));
        CHECK(cut.mesh.triangles.size() <= 12);
        CHECK(has_finding(cut, "no_endsolid"));
        // A prefix of the whole: no number that lost its last digits.
        const Soup whole = parse_stl(plain);
        CHECK(std::equal(cut.mesh.vertices.begin(), cut.mesh.vertices.end(),
                         whole.mesh.vertices.begin()));
    }
    const Soup no_end = parse_stl(plain.substr(0, plain.find("endsolid")));
    CHECK(no_end.mesh.triangles.size() == 12);
    CHECK(has_finding(no_end, "no_endsolid"));
}

TEST_CASE("text that is no STL is refused in one sentence") {
    const std::string plain = stl_text_of(box());
    for (const std::string& text :
         {std::string("Dear reader, this is a letter and no mesh, however long it may be; it goes "
                      "on and on and on and on."),
          std::string("solid gold is expensive\nand this line is prose\n"),
          std::string("solid empty\nendsolid empty\n"), std::string("solid"),
          replaced(plain, "vertex 2 ", "vertex 2,5 "), replaced(plain, "vertex", "vertices")}) {
        check_sentence(refusal([&] { return parse_stl(text, "letter.stl"); }));
    }
    CHECK(refusal([&] {
              return parse_stl(replaced(plain, "vertex 2 ", "vertex 2,5 "));
          }).find("line 6") != std::string::npos);
}

TEST_CASE("a part far from the origin brings a warning about the step of float32") {
    // Near 4,000,000 a float32 steps by 0.25 (2^22 / 2^24), more than 1e-5 of the box's diagonal
    // of 5.4.
    const Soup soup = parse_stl(stl_of(transformed(box(), 1.0, Vec3(4000000, 0, 0))));
    CHECK(has_finding(soup, "coordinates_coarse"));
    CHECK(soup.findings.front().text.find("0.25") != std::string::npos);
}
