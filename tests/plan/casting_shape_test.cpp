// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/casting_shape.h"

#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// A mesh in a file of its own, read as a casting's shape.
CastingShape shape_of(const TriMesh& mesh, double scale = 1.0) {
    const auto path = std::filesystem::temp_directory_path() /
                      fmt::format("cavigram_casting_shape_{}.stl", getpid());
    write_file(path, stl_bytes(mesh));
    PartRequest request;
    request.file = path;
    request.scale = scale;
    const CastingShape shape = casting_shape(request);
    std::filesystem::remove(path);
    return shape;
}

}  // namespace

TEST_CASE("a box: volume, area, and what lies within 1 mm of its surface, in closed form") {
    const CastingShape shape = shape_of(box_solid(40, 30, 20).mesh);
    CHECK_NEAR(shape.volume_mm3, 24000.0, 1e-12);
    CHECK_NEAR(shape.area_mm2, 5200.0, 1e-12);
    CHECK(shape.skin_reference_mm == 1.0);
    // abc - (a - 2)(b - 2)(c - 2); the depth's own limit is 0.3 %.
    CHECK_NEAR(shape.skin_volume_mm3, 24000.0 - 38.0 * 28.0 * 18.0, 0.003);
    CHECK(shape.skin_error_mm3 < 0.003 * shape.skin_volume_mm3);
    // Millimeters were assumed, and that is told.
    CHECK_FALSE(shape.findings.empty());
}

TEST_CASE("scaled first: the depth stays 1 mm") {
    const CastingShape shape = shape_of(box_solid(20, 15, 10).mesh, 2.0);
    CHECK_NEAR(shape.volume_mm3, 24000.0, 1e-12);
    CHECK_NEAR(shape.skin_volume_mm3, 24000.0 - 38.0 * 28.0 * 18.0, 0.003);
}

TEST_CASE("a cavity thinner than twice 1 mm is skin throughout") {
    const CastingShape shape = shape_of(box_solid(60, 40, 1.5).mesh);
    CHECK_NEAR(shape.skin_volume_mm3, 3600.0, 1e-12);
    CHECK(shape.skin_volume_mm3 <= shape.volume_mm3);
}

TEST_CASE("a file that is not there is refused") {
    PartRequest request;
    request.file = "missing.stl";
    CHECK_THROWS_AS(static_cast<void>(casting_shape(request)), UnusableInput);
}
