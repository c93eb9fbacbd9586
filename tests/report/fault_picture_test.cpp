// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/fault_picture.h"

#include <regex>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

namespace {

struct Circle {
    double x = 0.0;
    double y = 0.0;
    bool dashed = false;
};

std::vector<Circle> rings_in(const std::string& svg) {
    std::vector<Circle> found;
    const std::regex ring(
        "<circle cx=\"([0-9.]+)\" cy=\"([0-9.]+)\"[^>]*stroke=\"#000\" "
        "stroke-width=\"3\"([^>]*)/>");
    for (std::sregex_iterator at(svg.begin(), svg.end(), ring), end; at != end; ++at) {
        found.push_back({std::stod((*at)[1]), std::stod((*at)[2]),
                         (*at)[3].str().find("dasharray") != std::string::npos});
    }
    return found;
}

std::size_t count(const std::string& text, const std::string& word) {
    std::size_t n = 0;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) {
        ++n;
    }
    return n;
}

// From -y, with +z up: x to the right.
const View kFront = view_from(-Vec3::UnitY(), Vec3::UnitZ());

}  // namespace

TEST_CASE("rings stand where the places are, dashed behind the surface, with the fault's number") {
    const TriMesh box = box_solid(100, 50, 40).mesh;
    Fault hole;
    hole.kind = FaultKind::hole;
    hole.count = 2;
    hole.places_mm = {{20, 0, 30}, {70, 50, 10}};  // on the front, on the back
    Fault spike;
    spike.kind = FaultKind::spike;
    spike.places_mm = {{90, 0, 20}, {90.5, 0, 20}};  // too near each other for two rings
    const Picture picture =
        faults_picture(box, {hole, spike}, kFront, {.pixels_per_mm = 4.0, .title = "<i>"});
    const std::vector<Circle> rings = rings_in(picture.svg);
    REQUIRE(rings.size() == 3);
    // Parallel projection: 4 pixels for each mm, z upward.
    CHECK(rings[1].x - rings[0].x == doctest::Approx(200).epsilon(1e-6));
    CHECK(rings[1].y - rings[0].y == doctest::Approx(80).epsilon(1e-6));
    CHECK(rings[2].x - rings[0].x == doctest::Approx(280).epsilon(1e-6));
    CHECK_FALSE(rings[0].dashed);
    CHECK(rings[1].dashed);
    CHECK_FALSE(rings[2].dashed);
    CHECK(count(picture.svg, ">1</text>") == 4);  // each once in white beneath
    CHECK(count(picture.svg, ">2</text>") == 2);
    CHECK(picture.svg.find("<i>") == std::string::npos);
    CHECK(picture.svg.find(">&lt;i&gt;, +z at the top</text>") != std::string::npos);
    CHECK(picture.width_px > 400);
    CHECK(picture.svg ==
          faults_picture(box, {hole, spike}, kFront, {.pixels_per_mm = 4.0, .title = "<i>"}).svg);
}

TEST_CASE("of many places of one fault the first are marked; those of mending count by its steps") {
    const TriMesh box = box_solid(1000, 50, 40).mesh;
    RepairStep weld;  // touches the whole surface: no place
    RepairStep holes;
    for (int i = 0; i < 60; ++i) {
        holes.places_mm.push_back({15.0 * i + 10.0, 0.0, 20.0});
    }
    const Picture picture =
        mending_picture(box, {weld, holes}, kFront, {.pixels_per_mm = 2.0, .title = "mended"});
    CHECK(rings_in(picture.svg).size() == kMostMarkedPlaces);
    CHECK(count(picture.svg, ">1</text>") == 0);
    CHECK(count(picture.svg, ">2</text>") == 2 * kMostMarkedPlaces);
}
