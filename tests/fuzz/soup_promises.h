// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>

#include "cavigram/io/soup.h"

#include "fuzz.h"

namespace fuzz {

/// What Soup promises (io/soup.h). \throw Broken
inline void require_soup(const cavigram::Soup& soup) {
    require(!soup.mesh.triangles.empty(), "a soup has a triangle");
    require(!soup.format.empty(), "a soup says its format");
    for (const cavigram::Triangle& t : soup.mesh.triangles) {
        for (const std::int32_t i : t) {
            require(i >= 0 && static_cast<std::size_t>(i) < soup.mesh.vertices.size(),
                    "every index is in range");
        }
    }
    for (const cavigram::Vec3& v : soup.mesh.vertices) {
        require(v.allFinite() && v.cwiseAbs().maxCoeff() <= cavigram::kLargestCoordinate,
                "every coordinate is finite and within the limit");
    }
    require(soup.mesh.triangles.size() + soup.dropped_nonfinite + soup.dropped_out_of_range <=
                soup.triangles_in_file,
            "no more triangles than the file has");
    require(!soup.unit_mm || (*soup.unit_mm > 0.0 &&
                              std::isfinite(*soup.unit_mm * cavigram::kLargestCoordinate)),
            "a unit is a length");
}

}  // namespace fuzz
