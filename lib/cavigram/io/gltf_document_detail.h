// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram {

// What a glTF 2.0 file says of its shapes, as plain records. Names and meanings are the
// specification's. Indices are not checked here.

struct GltfBuffer {
    std::optional<std::string> uri;
    std::uint64_t bytes = 0;
};

/// EXT_meshopt_compression of a buffer view.
struct GltfMeshopt {
    std::size_t buffer = 0;
    std::uint64_t offset = 0;
    std::uint64_t bytes = 0;
    std::uint64_t stride = 0;
    std::uint64_t count = 0;
    std::string mode;
    std::string filter;
};

struct GltfView {
    std::size_t buffer = 0;
    std::uint64_t offset = 0;
    std::uint64_t bytes = 0;
    std::uint64_t stride = 0;  ///< 0: one element after the other.
    std::optional<GltfMeshopt> meshopt;
};

struct GltfSparse {
    std::uint64_t count = 0;
    std::size_t index_view = 0;
    std::uint64_t index_offset = 0;
    std::uint64_t index_type = 0;
    std::size_t value_view = 0;
    std::uint64_t value_offset = 0;
};

struct GltfAccessor {
    std::optional<std::size_t> view;  ///< None: zeros.
    std::uint64_t offset = 0;
    std::uint64_t component_type = 0;
    bool normalized = false;
    std::uint64_t count = 0;
    std::size_t width = 1;  ///< SCALAR 1, VEC3 3, ...
    std::optional<GltfSparse> sparse;
};

/// KHR_draco_mesh_compression of a primitive.
struct GltfDraco {
    std::size_t view = 0;
    std::uint64_t position_id = 0;
};

struct GltfPrimitive {
    std::uint64_t mode = 4;
    std::optional<std::size_t> position;
    std::optional<std::size_t> indices;
    std::optional<GltfDraco> draco;
};

struct GltfMesh {
    std::vector<GltfPrimitive> primitives;
    bool morphed = false;  ///< Some morph target has a weight.
};

/// EXT_mesh_gpu_instancing of a node: accessors of one value for each copy.
struct GltfInstancing {
    std::optional<std::size_t> translation;
    std::optional<std::size_t> rotation;
    std::optional<std::size_t> scale;
};

struct GltfNode {
    Eigen::Matrix4d transform = Eigen::Matrix4d::Identity();
    std::vector<std::size_t> children;
    std::optional<std::size_t> mesh;
    bool skinned = false;
    bool morphed = false;
    std::optional<GltfInstancing> instancing;
};

struct GltfDocument {
    std::vector<GltfBuffer> buffers;
    std::vector<GltfView> views;
    std::vector<GltfAccessor> accessors;
    std::vector<GltfMesh> meshes;
    std::vector<GltfNode> nodes;
    std::vector<std::size_t> roots;  ///< Of the scene that is shown.
};

/// Translation times rotation (x, y, z, w; made a unit) times scale.
[[nodiscard]] Eigen::Matrix4d gltf_transform(const Vec3& translation,
                                             const Eigen::Vector4d& rotation, const Vec3& scale);

/// Reads the JSON of a glTF 2.0 file. Empty if it is glTF 1, which is another format. A required
/// extension that is not known is refused by its name. `name` is how messages call the file.
/// O(bytes)
///
/// \throw UnusableInput
[[nodiscard]] std::optional<GltfDocument> parse_gltf_document(std::string_view json,
                                                              std::string_view name);

}  // namespace cavigram
