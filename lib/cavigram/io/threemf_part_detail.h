// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/io/zip_package_detail.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// An object placed by a build item or within another object.
struct ThreemfPlacement {
    std::string path;  ///< Of the part that holds the object; empty: the same part.
    std::uint32_t object = 0;
    Eigen::Matrix4d transform = Eigen::Matrix4d::Identity();
    bool printed = true;
};

struct ThreemfObject {
    std::string type = "model";
    bool reduced = false;  ///< Stands in for the real shape: low resolution or obfuscated.
    TriMesh mesh;
    std::vector<ThreemfPlacement> components;
};

/// One model part of a 3MF package, as its text says.
struct ThreemfPart {
    std::optional<double> unit_mm;
    std::map<std::uint32_t, ThreemfObject> objects;
    std::vector<ThreemfPlacement> items;
    std::size_t degenerate = 0;  ///< Triangles that name a corner twice; they are left out.
    bool beams = false;
    int most_digits = 0;  ///< Of a coordinate.
};

/// Reads the part `path` of the package. O(bytes)
///
/// \throw UnusableInput that names part and line
[[nodiscard]] ThreemfPart parse_threemf_part(ZipPackage& package, const std::string& path,
                                             std::string_view name);

/// The part that the package's relationships call its model.
///
/// \throw UnusableInput
[[nodiscard]] std::string threemf_root_part(ZipPackage& package, std::string_view name);

}  // namespace cavigram
