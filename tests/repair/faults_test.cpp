// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/faults.h"

#include <random>

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

std::size_t count_of(const ShapeSurvey& survey, const std::string& kind) {
    for (const Fault& fault : survey.faults) {
        if (to_text(fault.kind) == kind) {
            return fault.count;
        }
    }
    return 0;
}

}  // namespace

TEST_CASE("flat faces have no noise, no spikes and no slivers") {
    const ShapeSurvey survey = survey_shape(subdivided(box_solid(40, 40, 40).mesh, 4));
    CHECK(survey.noise_mm == 0.0);
    CHECK(survey.faults.empty());
}

TEST_CASE("white noise is measured, and grows in proportion") {
    const TriMesh sphere = subdivided(box_solid(60, 60, 60).mesh, 5);
    double before = 0.0;
    for (const double sigma : {0.05, 0.1, 0.2}) {
        std::mt19937 random(31);  // fixed seed
        std::normal_distribution<double> shift(0.0, sigma);
        TriMesh noisy = sphere;
        for (Vec3& v : noisy.vertices) {
            v += Vec3(shift(random), shift(random), shift(random));
        }
        const double measured = survey_shape(noisy).noise_mm;
        // The estimate assumes six neighbors everywhere; this mesh has four to eight.
        CHECK_NEAR(measured, sigma, 0.25);
        CHECK(measured > 1.5 * before);
        before = measured;
    }
}

TEST_CASE("one vertex pulled far out is a spike, at its place") {
    TriMesh sphere = sphere_solid(30, 64).mesh;
    const std::size_t v = sphere.vertices.size() / 3;
    sphere.vertices[v] *= 1.6;
    const ShapeSurvey survey = survey_shape(sphere);
    CHECK(count_of(survey, "spike") == 1);
    for (const Fault& fault : survey.faults) {
        if (fault.kind == FaultKind::spike) {
            const auto& p = fault.places_mm.front();
            CHECK((Vec3(p[0], p[1], p[2]) - sphere.vertices[v]).norm() < 1e-9);
        }
    }
}
