// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <limits>

// The library's headers compare signed with unsigned numbers.
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wsign-compare"
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wunused-parameter"
#include <draco/compression/decode.h>
#include <draco/mesh/mesh.h>
#pragma GCC diagnostic pop

#include "cavigram/io/draco_mesh_detail.h"

namespace cavigram {

std::optional<TriMesh> unpack_draco(std::string_view bytes, std::uint32_t position_id) {
    draco::DecoderBuffer buffer;
    buffer.Init(bytes.data(), bytes.size());
    draco::Decoder decoder;
    auto decoded = decoder.DecodeMeshFromBuffer(&buffer);
    if (!decoded.ok()) {
        return std::nullopt;
    }
    const draco::Mesh& source = *decoded.value();
    const draco::PointAttribute* const positions = source.GetAttributeByUniqueId(position_id);
    constexpr std::uint32_t kMost = std::numeric_limits<std::int32_t>::max();
    if (positions == nullptr || positions->num_components() != 3 || source.num_points() > kMost ||
        source.num_faces() > kMost) {
        return std::nullopt;
    }
    TriMesh mesh;
    mesh.vertices.reserve(source.num_points());
    for (std::uint32_t i = 0; i < source.num_points(); ++i) {
        const auto value = positions->mapped_index(draco::PointIndex(i));
        std::array<double, 3> p{};
        if (value.value() >= positions->size() ||
            !positions->ConvertValue<double, 3>(value, p.data())) {
            return std::nullopt;
        }
        mesh.vertices.emplace_back(p[0], p[1], p[2]);
    }
    mesh.triangles.reserve(source.num_faces());
    for (std::uint32_t i = 0; i < source.num_faces(); ++i) {
        const draco::Mesh::Face& face = source.face(draco::FaceIndex(i));
        Triangle t{};
        for (std::size_t k = 0; k < 3; ++k) {
            if (face[k].value() >= source.num_points()) {
                return std::nullopt;
            }
            t[k] = static_cast<std::int32_t>(face[k].value());
        }
        mesh.triangles.push_back(t);
    }
    return mesh;
}

}  // namespace cavigram
