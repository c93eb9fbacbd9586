// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// The exact verdict on two triangles whose boxes meet.
class TrianglePair {
  public:
    /// Keeps a reference to the mesh.
    explicit TrianglePair(const TriMesh& mesh) : mesh_(mesh) {}

    /// Whether the triangles meet beyond the corners that they share (crossings.h).
    [[nodiscard]] bool cross(std::int32_t first, std::int32_t second) const;

  private:
    const TriMesh& mesh_;
};

}  // namespace cavigram
