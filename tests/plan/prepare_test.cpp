// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/prepare.h"

#include <initializer_list>
#include <unistd.h>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "support/findings.h"
#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

// A box of 40 x 30 x 20 file units, removed again at the end.
class BoxFile {
  public:
    explicit BoxFile(const char* ending)
        : path_(std::filesystem::temp_directory_path() /
                fmt::format("cavigram_prepare_{}{}", getpid(), ending)) {
        const TriMesh box = box_solid(40, 30, 20).mesh;
        write_file(path_, std::string(ending) == ".glb" ? glb_bytes(box) : stl_bytes(box));
    }
    BoxFile(const BoxFile&) = delete;
    BoxFile& operator=(const BoxFile&) = delete;
    ~BoxFile() { std::filesystem::remove(path_); }
    [[nodiscard]] PartRequest request() const {
        PartRequest request;
        request.file = path_;
        return request;
    }

  private:
    std::filesystem::path path_;
};

Vec3 size_mm(const PreparedPart& prepared) {
    return bounds(prepared.part.mesh()).sizes();
}

bool found(const PreparedPart& prepared, FindingCode code) {
    return has_finding(prepared.findings, code);
}

}  // namespace

TEST_CASE("no unit anywhere: millimeters, and a finding with the size in both units") {
    const BoxFile file(".stl");
    const PreparedPart prepared = prepare_part(file.request());
    CHECK(size_mm(prepared) == Vec3(40, 30, 20));
    CHECK(prepared.input.units_source == "assumed");
    REQUIRE(found(prepared, "units_assumed"));
    CHECK(rendered(prepared.findings[0].text).find("40.00 x 30.00 x 20.00 mm") !=
          std::string::npos);
    CHECK(prepared.input.triangles == 12);
    CHECK(prepared.input.format == "stl-binary");
}

TEST_CASE("units, scale and longest side") {
    const BoxFile file(".stl");
    PartRequest request = file.request();
    request.units = parse_length_unit("in");
    PreparedPart prepared = prepare_part(request);
    CHECK_NEAR(size_mm(prepared).x(), 1016.0, 1e-12);
    CHECK_FALSE(found(prepared, "units_assumed"));
    request.scale = 0.5;
    CHECK_NEAR(size_mm(prepare_part(request)).x(), 508.0, 1e-12);
    request.longest_mm = 355.0;
    CHECK_THROWS_AS(static_cast<void>(prepare_part(request)), InvalidInput);
    request.scale = 1.0;
    prepared = prepare_part(request);
    CHECK_NEAR(size_mm(prepared).x(), 355.0, 1e-12);
    CHECK(prepared.input.units_source == "longest");
    CHECK_THROWS_AS(static_cast<void>(parse_length_unit("furlong")), InvalidInput);
    for (const auto& [written, mm] : {std::pair("MM", 1.0), std::pair("inches", 25.4),
                                      std::pair("\"", 25.4), std::pair("Feet", 304.8)}) {
        CHECK(parse_length_unit(written).mm == mm);
    }
}

TEST_CASE("a stated unit is used; overruling it is said; an unlikely size is said") {
    const BoxFile file(".glb");
    PartRequest request = file.request();
    PreparedPart prepared = prepare_part(request);
    CHECK(prepared.input.units_source == "file");
    CHECK(prepared.input.units == "m");
    CHECK_NEAR(size_mm(prepared).maxCoeff(), 40.0, 1e-6);
    // Read in inches it is 1.016 mm: possible, but unlikely.
    request.units = parse_length_unit("in");
    prepared = prepare_part(request);
    REQUIRE(found(prepared, "units_overruled"));
    CHECK(found(prepared, "size_unlikely"));
    const Finding& overruled = *finding_of(prepared.findings, "units_overruled");
    CHECK(overruled.severity == Severity::warning);
    const std::string text = rendered(overruled.text);
    CHECK(text.find("The file states m, in which the part is 40.00 x") != std::string::npos);
    CHECK(text.find("read in in, in which it is 1.016 x") != std::string::npos);
}

TEST_CASE("a size that no part has is asked about before anything else can fail") {
    const BoxFile file(".glb");
    PartRequest request = file.request();
    const auto asked = [&] {
        return refusal_of<UnusableInput>([&] { return prepare_part(request); });
    };
    request.units = parse_length_unit("mm");  // 0.04 mm
    std::string text = asked();
    INFO(text);
    CHECK(text.find("would be 0.0400 mm") != std::string::npos);
    CHECK(text.find("units m (40.0 mm (1.57 in)), units ft (12.2 mm (0.480 in)), or longest") !=
          std::string::npos);
    CHECK(text.find("units cm") == std::string::npos);
    CHECK(text.find("(the file states m)") != std::string::npos);
    request.units = parse_length_unit("m");
    request.scale = 1000.0;  // 40 m
    text = asked();
    CHECK(text.find("40000 mm") != std::string::npos);
    CHECK(text.find("units mm (40.0 mm") != std::string::npos);
    request.scale = 1e-9;
    CHECK(asked().find("by units or longest") != std::string::npos);
    // The mesh behind it may be as broken as it likes: one triangle.
    const auto path = std::filesystem::temp_directory_path() /
                      fmt::format("cavigram_prepare_{}_sheet.stl", getpid());
    TriMesh sheet = box_solid(0.5, 0.5, 0.5).mesh;
    sheet.triangles.resize(1);
    write_file(path, stl_bytes(sheet));
    request = PartRequest();
    request.file = path;
    CHECK(asked().find("no cast part has") != std::string::npos);
    std::filesystem::remove(path);
    for (const double longest : {0.5, 20'000.0, 0.0, -1.0}) {
        request = file.request();
        request.longest_mm = longest;
        CHECK_THROWS_AS(static_cast<void>(prepare_part(request)), InvalidInput);
    }
}
