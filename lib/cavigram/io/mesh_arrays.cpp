// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_arrays.h"

#include <utility>

#include <fmt/core.h>

#include "cavigram/io/soup_check_detail.h"

namespace cavigram {

Soup soup_of_arrays(TriMesh mesh, std::string_view name) {
    const std::size_t count = mesh.vertices.size();
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (const std::int32_t i : mesh.triangles[t]) {
            if (i < 0 || static_cast<std::size_t>(i) >= count) {
                refuse(name, fmt::format("triangle {} names vertex {}, and there are {} vertices, "
                                         "counted from 0; correct that triangle",
                                         t, i, count));
            }
        }
    }
    Soup soup;
    soup.triangles_in_file = mesh.triangles.size();
    soup.mesh = std::move(mesh);
    soup.format = "arrays";
    drop_bad_triangles(soup);
    finish_soup(soup, name, false);
    return soup;
}

}  // namespace cavigram
