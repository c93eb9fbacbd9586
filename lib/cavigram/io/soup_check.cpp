// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/io/soup_check_detail.h"

namespace cavigram {

namespace {

enum class Place : std::uint8_t { good, out_of_range, nonfinite };

Place place_of(const Vec3& v) {
    if (!v.allFinite()) {
        return Place::nonfinite;
    }
    return v.cwiseAbs().maxCoeff() <= kLargestCoordinate ? Place::good : Place::out_of_range;
}

// "1 triangle was", "3 triangles were"
std::string triangles_were(std::size_t count) {
    return count == 1 ? "1 triangle was" : fmt::format("{} triangles were", count);
}

// A float32 has 24 binary digits, so near c it steps by 2^(exponent of c - 23).
void note_coarse_coordinates(Soup& soup) {
    const Box3 box = bounds(soup.mesh);
    const double largest = box.min().cwiseAbs().cwiseMax(box.max().cwiseAbs()).maxCoeff();
    const double diagonal = (box.max() - box.min()).norm();
    if (!(largest > 0.0)) {
        return;
    }
    const double step = std::ldexp(1.0, std::ilogb(largest) - 23);
    // 1e-5 of the diagonal: 0.005 mm on a part of 500 mm, a tenth of what a good scanner's noise
    // is.
    constexpr double kCoarse = 1e-5;
    if (step > kCoarse * diagonal) {
        soup.findings.push_back(
            {Severity::warning,
             "coordinates_coarse",
             fmt::format(
                 "The mesh lies {} file units from the origin, where the file's numbers step by "
                 "{}; move it to the "
                 "origin in the program that made it and export it again.",
                 significant(largest, 3), significant(step, 2)),
             {}});
    }
}

}  // namespace

void refuse(std::string_view name, std::string_view why) {
    throw UnusableInput("Can't use " + std::string(name) + ": " + std::string(why) + ".");
}

void drop_bad_triangles(Soup& soup) {
    std::vector<Place> places(soup.mesh.vertices.size());
    bool all_good = true;
    for (std::size_t i = 0; i < places.size(); ++i) {
        places[i] = place_of(soup.mesh.vertices[i]);
        if (places[i] != Place::good) {
            all_good = false;
            soup.mesh.vertices[i].setZero();
        }
    }
    if (all_good) {
        return;
    }
    std::vector<Triangle> good;
    good.reserve(soup.mesh.triangles.size());
    for (const Triangle& t : soup.mesh.triangles) {
        Place worst = Place::good;
        for (const std::int32_t i : t) {
            worst = std::max(worst, places[static_cast<std::size_t>(i)]);
        }
        if (worst == Place::good) {
            good.push_back(t);
        } else {
            ++(worst == Place::nonfinite ? soup.dropped_nonfinite : soup.dropped_out_of_range);
        }
    }
    soup.mesh.triangles = std::move(good);
}

void finish_soup(Soup& soup, std::string_view name, bool came_as_float) {
    const std::size_t dropped = soup.dropped_nonfinite + soup.dropped_out_of_range;
    if (soup.mesh.triangles.empty() && dropped == 0) {
        refuse(name,
               "it holds no triangles; export the part as a surface mesh, not as points, curves or "
               "an empty scene");
    }
    if (soup.mesh.triangles.empty()) {
        refuse(name, fmt::format("all of its {} triangles have corners that are not numbers or lie "
                                 "beyond {} units; export the "
                                 "part again",
                                 dropped, significant(kLargestCoordinate, 1)));
    }
    if (soup.dropped_nonfinite > 0) {
        soup.findings.push_back(
            {Severity::warning,
             "triangles_not_finite",
             fmt::format("{} left out because a corner is not a number; export the "
                         "part again if the mended surface looks wrong.",
                         triangles_were(soup.dropped_nonfinite)),
             {}});
    }
    if (soup.dropped_out_of_range > 0) {
        soup.findings.push_back(
            {Severity::warning,
             "triangles_out_of_range",
             fmt::format("{} left out because a corner lies farther than {} units "
                         "from the origin; export the part again if the "
                         "mended surface looks wrong.",
                         triangles_were(soup.dropped_out_of_range),
                         significant(kLargestCoordinate, 1)),
             {}});
    }
    if (came_as_float) {
        note_coarse_coordinates(soup);
    }
}

}  // namespace cavigram
