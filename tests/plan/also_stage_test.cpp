// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>
#include <string>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/plan/also_stage_detail.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// A folder of this process alone, with boxes of 40 x 30 x 20 and 20 x 10 x 10 mm in it.
class Boxes {
  public:
    Boxes()
        : folder_(std::filesystem::temp_directory_path() /
                  fmt::format("cavigram_also_stage_{}", getpid())) {
        std::filesystem::create_directory(folder_);
        write_file(large(), stl_bytes(box_solid(40, 30, 20).mesh));
        write_file(small(), stl_bytes(box_solid(20, 10, 10).mesh));
    }
    ~Boxes() { std::filesystem::remove_all(folder_); }
    Boxes(const Boxes&) = delete;
    Boxes& operator=(const Boxes&) = delete;

    [[nodiscard]] std::filesystem::path large() const { return folder_ / "large.stl"; }
    [[nodiscard]] std::filesystem::path small() const { return folder_ / "small.stl"; }

  private:
    std::filesystem::path folder_;
};

}  // namespace

TEST_CASE("each further part has its own volume, area and grams, in the order of the files") {
    const Boxes boxes;
    FoamBlock first;
    first.request.packing_factor = 1.15;
    first.mass.molded_density_kg_m3 = 150.0;
    std::vector<detail::PartNodes> nodes;
    const detail::AlsoStage stage =
        detail::also_stage({{boxes.large(), {}}, {boxes.small(), {}}}, {}, first, nodes, {});
    REQUIRE(stage.parts.size() == 2);
    const AlsoPoured& large = stage.parts[0];
    CHECK(large.input.file == "large.stl");
    CHECK_NEAR(large.measures.mass.volume_mm3, 24000.0, 1e-12);
    CHECK_NEAR(large.measures.mass.area_mm2, 5200.0, 1e-12);
    CHECK_NEAR(large.part_mass_g, 3.6, 1e-12);  // 24 mL at 150 kg/m3
    const AlsoPoured& small = stage.parts[1];
    CHECK(small.input.file == "small.stl");
    CHECK_NEAR(small.measures.mass.volume_mm3, 2000.0, 1e-12);
    CHECK_NEAR(small.part_mass_g, 0.3, 1e-12);
    REQUIRE(small.part);
    CHECK(small.part->mesh().triangles.size() == 12);
}

TEST_CASE("under a measured skin each part is as heavy as its own shape makes it") {
    const Boxes boxes;
    FoamBlock first;
    first.request.free_rise_kg_m3 = {100.0, 90.0, 110.0};
    first.request.skin_density_kg_m3 = {600.0, 550.0, 650.0};
    first.request.skin_thickness_mm = Ranged{1.0, 0.9, 1.1};
    std::vector<detail::PartNodes> nodes;
    const detail::AlsoStage stage =
        detail::also_stage({{boxes.large(), {}}, {boxes.small(), {}}}, {}, first, nodes, {});
    // Free rise throughout, and 500 kg/m3 more within 1 mm of the surface:
    // abc - (a - 2)(b - 2)(c - 2). The depth's own limit is 0.3 % of that volume.
    const double large_skin = 24000.0 - 38.0 * 28.0 * 18.0;
    const double small_skin = 2000.0 - 18.0 * 8.0 * 8.0;
    CHECK(std::abs(stage.parts[0].part_mass_g - (2.4 + 5e-4 * large_skin)) <
          0.003 * 5e-4 * large_skin);
    CHECK(std::abs(stage.parts[1].part_mass_g - (0.2 + 5e-4 * small_skin)) <
          0.003 * 5e-4 * small_skin);
}

TEST_CASE("unit and scale are the first part's, and a finding says which file it is about") {
    const Boxes boxes;
    FoamBlock first;
    first.request.packing_factor = 1.0;
    first.mass.molded_density_kg_m3 = 100.0;
    PartRequest like;
    like.scale = 2.0;
    std::vector<detail::PartNodes> nodes;
    const detail::AlsoStage stage =
        detail::also_stage({{boxes.small(), {}}}, like, first, nodes, {});
    CHECK_NEAR(stage.parts[0].measures.mass.volume_mm3, 16000.0, 1e-12);
    REQUIRE(stage.findings.size() == 1);  // millimeters were assumed
    CHECK(stage.findings[0].text.find("small.stl: ") == 0);
    CHECK(stage.findings[0].at_mm.empty());
}
