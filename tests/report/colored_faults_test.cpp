// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_faults.h"

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

TEST_CASE("a surface with a fault looks different from one without") {
    const TriMesh sphere = sphere_solid(30, 32).mesh;
    const std::string plain = faults_colored(sphere, {});
    CHECK(plain.rfind("ply\n", 0) == 0);
    CHECK(plain.find("property uchar red") != std::string::npos);
    Fault hole;
    hole.kind = FaultKind::hole;
    hole.count = 1;
    hole.places_mm = {{0.0, 0.0, 30.0}};
    const std::string marked = faults_colored(sphere, {hole});
    CHECK(marked.size() == plain.size());
    CHECK(marked != plain);
}
