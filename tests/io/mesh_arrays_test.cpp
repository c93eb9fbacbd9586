// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_arrays.h"

#include <limits>
#include <string>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

namespace {

using namespace cavigram;

// A tetrahedron by its definition: four corners, four triangles.
TriMesh tetrahedron() {
    return {{Vec3(0, 0, 0), Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 1)},
            {{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}}};
}

std::string refusal(const TriMesh& mesh) {
    try {
        static_cast<void>(soup_of_arrays(mesh, "arrays"));
    } catch (const UnusableInput& error) {
        return error.what();
    }
    return "";
}

}  // namespace

TEST_CASE("good arrays come through as they are") {
    const TriMesh mesh = tetrahedron();
    const Soup soup = soup_of_arrays(mesh, "arrays");
    CHECK((soup.mesh.vertices == mesh.vertices));
    CHECK((soup.mesh.triangles == mesh.triangles));
    CHECK(soup.triangles_in_file == 4);
    CHECK(soup.format == "arrays");
    CHECK_FALSE(soup.unit_mm.has_value());
    CHECK(soup.findings.empty());
}

TEST_CASE("an index out of range is refused with its triangle") {
    for (const std::int32_t wrong : {4, -1, std::numeric_limits<std::int32_t>::max()}) {
        TriMesh mesh = tetrahedron();
        mesh.triangles[2][1] = wrong;
        CHECK(refusal(mesh) == "Can't use arrays: triangle 2 names vertex " +
                                   std::to_string(wrong) +
                                   ", and there are 4 vertices, counted from 0; correct that "
                                   "triangle.");
    }
}

TEST_CASE("corners that are not numbers go with their triangles, and it is told") {
    TriMesh mesh = tetrahedron();
    mesh.vertices[3].z() = std::numeric_limits<double>::quiet_NaN();
    const Soup soup = soup_of_arrays(mesh, "arrays");
    CHECK(soup.mesh.triangles.size() == 1);  // the one without the fourth corner
    CHECK(soup.dropped_nonfinite == 3);
    REQUIRE(soup.findings.size() == 1);
    CHECK(to_text(soup.findings[0].code) == "triangles_not_finite");
}

TEST_CASE("nothing usable is refused") {
    CHECK((refusal({}).find("holds no triangles") != std::string::npos));
    TriMesh mesh = tetrahedron();
    for (Vec3& vertex : mesh.vertices) {
        vertex *= 1e12;
        vertex += Vec3::Constant(1e12);
    }
    CHECK((refusal(mesh).find("all of its 4 triangles") != std::string::npos));
}
