// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/sphere_map.h"

#include <algorithm>
#include <string>

#include "cavigram/geom/directions.h"

#include "support/near.h"

using namespace cavigram;

namespace {

Orientations made_up(bool asked_first) {
    Orientations found;
    for (const Vec3& up : sphere_directions(500)) {
        found.scanned.push_back({up, 1000.0 * (1.0 - up.z()), 2000.0});
    }
    found.most_vents = 2;
    for (int rank = 1; rank <= 3; ++rank) {
        RankedWayUp row;
        row.rank = rank;
        row.value.up = rank == 1 ? Vec3::UnitZ() : rank == 2 ? Vec3::UnitX() : Vec3(-Vec3::UnitZ());
        row.asked = asked_first ? rank == 1 : rank == 3;
        found.rows.push_back(row);
    }
    return found;
}

std::size_t count(const std::string& text, const std::string& part) {
    std::size_t found = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) {
        ++found;
    }
    return found;
}

}  // namespace

TEST_CASE("marks differ in shape, and stand where the projection puts them") {
    const std::string svg = sphere_map_svg(made_up(false));
    CHECK(svg.rfind("<svg", 0) == 0);
    CHECK(svg.find("</svg>\n") == svg.size() - 7);
    CHECK(count(svg, "<polygon") == 2);               // the first choice, and in the legend
    CHECK(count(svg, "fill-opacity=\"0.85\"") == 4);  // a ring and a square, and in the legend
    // Lambert: the pole in the middle of its disk, a direction on the equator on the rim.
    CHECK(svg.find("<circle cx=\"440.0\" cy=\"300.0\" r=\"8.5\"") != std::string::npos);
    CHECK(svg.find("<rect x=\"711.0\" y=\"291.0\" width=\"18\"") != std::string::npos);
    CHECK(svg.find("cm3 of air that stays with up to 2 vents") != std::string::npos);
    CHECK(svg.find("nan") == std::string::npos);
    CHECK(svg.find("inf") == std::string::npos);
}

TEST_CASE("the first choice that was asked for carries both marks; no air at all is drawn too") {
    Orientations found = made_up(true);
    CHECK(count(sphere_map_svg(found), "<polygon") == 2);
    for (ScannedWayUp& way : found.scanned) {
        way.vented_mm3 = 0.0;
    }
    const std::string svg = sphere_map_svg(found);
    CHECK(svg.find("nan") == std::string::npos);
    CHECK(svg == sphere_map_svg(found));
}
