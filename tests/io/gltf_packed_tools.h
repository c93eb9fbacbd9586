// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wsign-compare"
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wunused-parameter"
#include <draco/compression/encode.h>
#include <draco/mesh/triangle_soup_mesh_builder.h>
#pragma GCC diagnostic pop
#include <meshoptimizer.h>

#include "cavigram/io/draco_mesh_detail.h"

#include "gltf_tools.h"

// glTF files whose data are packed, by the encoders of the libraries that unpack them.
namespace io_test {

inline std::string packed_vertices(const std::string& bytes, std::size_t stride) {
    const std::size_t count = bytes.size() / stride;
    std::string packed(meshopt_encodeVertexBufferBound(count, stride), '\0');
    packed.resize(meshopt_encodeVertexBuffer(reinterpret_cast<unsigned char*>(packed.data()),
                                             packed.size(), bytes.data(), count, stride));
    return packed;
}

inline std::string packed_triangles(const std::vector<std::uint32_t>& indices,
                                    std::size_t vertices) {
    std::string packed(meshopt_encodeIndexBufferBound(indices.size(), vertices), '\0');
    packed.resize(meshopt_encodeIndexBuffer(reinterpret_cast<unsigned char*>(packed.data()),
                                            packed.size(), indices.data(), indices.size()));
    return packed;
}

// A view that is there only packed.
inline int meshopt_view(Gltf& g, const std::string& packed, std::size_t stride, std::size_t count,
                        const char* mode, const char* filter = "NONE") {
    const int raw = g.view(packed);
    nlohmann::json about = g.json["bufferViews"][static_cast<std::size_t>(raw)];
    about["byteStride"] = stride;
    about["count"] = count;
    about["mode"] = mode;
    about["filter"] = filter;
    nlohmann::json& view = g.json["bufferViews"][static_cast<std::size_t>(raw)];
    view["buffer"] = 1;
    view["byteOffset"] = 0;
    view["byteLength"] = stride * count;
    if (std::string_view(mode) == "ATTRIBUTES") {
        view["byteStride"] = stride;
    }
    view["extensions"]["EXT_meshopt_compression"] = about;
    return raw;
}

inline std::string glb_with_fallback(Gltf& g) {
    g.json["buffers"] = {{{"byteLength", g.bin.size()}},
                         {{"byteLength", 1 << 20},
                          {"extensions", {{"EXT_meshopt_compression", {{"fallback", true}}}}}}};
    return g.glb();
}

inline std::string draco_bytes(const TriMesh& mesh, bool quantized) {
    draco::TriangleSoupMeshBuilder builder;
    builder.Start(static_cast<int>(mesh.triangles.size()));
    const int id = builder.AddAttribute(draco::GeometryAttribute::POSITION, 3, draco::DT_FLOAT32);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Eigen::Vector3f a = mesh.corner(t, 0).cast<float>();
        const Eigen::Vector3f b = mesh.corner(t, 1).cast<float>();
        const Eigen::Vector3f c = mesh.corner(t, 2).cast<float>();
        builder.SetAttributeValuesForFace(id, draco::FaceIndex(static_cast<std::uint32_t>(t)),
                                          a.data(), b.data(), c.data());
    }
    const auto built = builder.Finalize();
    REQUIRE(built != nullptr);
    draco::Encoder encoder;
    if (quantized) {
        encoder.SetAttributeQuantization(draco::GeometryAttribute::POSITION, 16);
    }
    draco::EncoderBuffer buffer;
    REQUIRE(encoder.EncodeMeshToBuffer(*built, &buffer).ok());
    return {buffer.data(), buffer.size()};
}

inline Gltf draco_file(const TriMesh& mesh, const std::string& packed) {
    Gltf g;
    g.require("KHR_draco_mesh_compression");
    const int view = g.view(packed);
    const auto unpacked = unpack_draco(packed, 0);
    const std::size_t count = unpacked ? unpacked->vertices.size() : mesh.vertices.size();
    const int position = g.accessor(-1, 5126, count, "VEC3");
    const int indices = g.accessor(-1, 5125, 3 * mesh.triangles.size(), "SCALAR");
    g.node({{"mesh", g.mesh(position, indices)}});
    g.json["meshes"][0]["primitives"][0]["extensions"]["KHR_draco_mesh_compression"] = {
        {"bufferView", view}, {"attributes", {{"POSITION", 0}}}};
    return g;
}

/// The mesh packed by meshoptimizer, vertices and triangles.
inline std::string meshopt_glb(const TriMesh& mesh) {
    Gltf g;
    g.require("EXT_meshopt_compression");
    const std::vector<std::int32_t> corners = Gltf::corners(mesh);
    const std::vector<std::uint32_t> indices(corners.begin(), corners.end());
    const int position =
        g.accessor(meshopt_view(g, packed_vertices(Gltf::floats(mesh.vertices), 12), 12,
                                mesh.vertices.size(), "ATTRIBUTES"),
                   5126, mesh.vertices.size(), "VEC3");
    const int corner = g.accessor(meshopt_view(g, packed_triangles(indices, mesh.vertices.size()),
                                               4, indices.size(), "TRIANGLES"),
                                  5125, indices.size(), "SCALAR");
    g.node({{"mesh", g.mesh(position, corner)}});
    return glb_with_fallback(g);
}

}  // namespace io_test
