// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "io_tools.h"

namespace io_test {

/// A glTF document made piece by piece. Coordinates are meters, y up, as the format has it.
class Gltf {
  public:
    nlohmann::json json = {{"asset", {{"version", "2.0"}}}};
    std::string bin;

    /// Appends bytes as a view of buffer 0, on a multiple of four.
    int view(std::string_view bytes, int stride = 0) {
        bin.resize((bin.size() + 3) / 4 * 4, '\0');
        nlohmann::json v = {
            {"buffer", 0}, {"byteOffset", bin.size()}, {"byteLength", bytes.size()}};
        if (stride > 0) {
            v["byteStride"] = stride;
        }
        bin += bytes;
        return add("bufferViews", v);
    }
    int accessor(int view, int component_type, std::size_t count, const char* type,
                 bool normalized = false) {
        nlohmann::json a = {{"componentType", component_type}, {"count", count}, {"type", type}};
        if (view >= 0) {
            a["bufferView"] = view;
        }
        if (normalized) {
            a["normalized"] = true;
        }
        return add("accessors", a);
    }
    /// The vertices as floats.
    int positions(const TriMesh& mesh) {
        return accessor(view(floats(mesh.vertices)), 5126, mesh.vertices.size(), "VEC3");
    }
    template <class Index>
    int indices(const std::vector<std::int32_t>& corners, int component_type) {
        std::string bytes;
        for (const std::int32_t i : corners) {
            put(bytes, static_cast<Index>(i));
        }
        return accessor(view(bytes), component_type, corners.size(), "SCALAR");
    }
    int mesh(int position, int indices = -1, int mode = 4) {
        nlohmann::json p = {{"attributes", {{"POSITION", position}}}, {"mode", mode}};
        if (indices >= 0) {
            p["indices"] = indices;
        }
        return add("meshes", {{"primitives", {p}}});
    }
    int node(nlohmann::json node) { return add("nodes", std::move(node)); }
    void require(const std::string& extension) {
        json["extensionsUsed"].push_back(extension);
        json["extensionsRequired"].push_back(extension);
    }
    /// Without scenes all nodes that are nobody's children are shown.
    [[nodiscard]] std::string glb() {
        if (!bin.empty() && !json.contains("buffers")) {
            json["buffers"] = {{{"byteLength", bin.size()}}};
        }
        std::string text = json.dump();
        text.resize((text.size() + 3) / 4 * 4, ' ');
        std::string data = bin;
        data.resize((data.size() + 3) / 4 * 4, '\0');
        std::string bytes = "glTF";
        put(bytes, std::uint32_t{2});
        put(bytes, static_cast<std::uint32_t>(12 + 8 + text.size() +
                                              (data.empty() ? 0 : 8 + data.size())));
        put(bytes, static_cast<std::uint32_t>(text.size()));
        bytes += "JSON" + text;
        if (!data.empty()) {
            put(bytes, static_cast<std::uint32_t>(data.size()));
            bytes += std::string("BIN\0", 4) + data;
        }
        return bytes;
    }

    static std::string floats(const std::vector<Vec3>& values) {
        std::string bytes;
        for (const Vec3& v : values) {
            for (int k = 0; k < 3; ++k) {
                put(bytes, static_cast<float>(v[k]));
            }
        }
        return bytes;
    }
    static std::vector<std::int32_t> corners(const TriMesh& mesh) {
        std::vector<std::int32_t> all;
        for (const Triangle& t : mesh.triangles) {
            all.insert(all.end(), t.begin(), t.end());
        }
        return all;
    }

  private:
    int add(const char* list, nlohmann::json value) {
        json[list].push_back(std::move(value));
        return static_cast<int>(json[list].size()) - 1;
    }
};

/// A file with one mesh, its node as given.
inline Gltf gltf_of(const TriMesh& mesh, nlohmann::json node = nlohmann::json::object()) {
    Gltf g;
    const int position = g.positions(mesh);
    node["mesh"] = g.mesh(position, g.indices<std::uint32_t>(Gltf::corners(mesh), 5125));
    g.node(node);
    return g;
}

}  // namespace io_test
