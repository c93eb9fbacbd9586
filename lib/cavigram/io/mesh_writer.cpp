// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_writer.h"

#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <limits>
#include <type_traits>
#include <vector>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/core/error.h"

static_assert(std::endian::native == std::endian::little,
              "all three formats are little-endian and are written as they lie");

namespace cavigram {

namespace {

template <class T>
void put(std::string& bytes, const T& value) {
    static_assert(std::is_trivially_copyable_v<T>);
    bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
}

std::array<float, 3> narrowed(const Vec3& v) {
    return {static_cast<float>(v[0]), static_cast<float>(v[1]), static_cast<float>(v[2])};
}

void require_finite(const TriMesh& mesh, double largest) {
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
        // maxCoeff may pass over a NaN, so that is asked apart.
        if (!mesh.vertices[i].allFinite() || mesh.vertices[i].cwiseAbs().maxCoeff() > largest) {
            throw InvalidInput(fmt::format(
                "Vertex {} has a coordinate that the mesh format can't hold; write finite "
                "numbers only.",
                i));
        }
    }
}

void require_colors(const TriMesh& mesh, std::span<const Rgb> colors) {
    if (!colors.empty() && colors.size() != mesh.vertices.size()) {
        throw InvalidInput(
            fmt::format("There are {} colors for {} vertices; give one for each or none.",
                        colors.size(), mesh.vertices.size()));
    }
}

constexpr double kLargestFloat = std::numeric_limits<float>::max();

}  // namespace

std::string stl_bytes(const TriMesh& mesh) {
    if (mesh.triangles.size() > std::numeric_limits<std::uint32_t>::max()) {
        throw InvalidInput("STL can't count that many triangles; write PLY.");
    }
    require_finite(mesh, kLargestFloat);
    // The header must not begin with `solid`, which many programs take for ASCII.
    std::string bytes = "binary STL by cavigram; lengths in millimeters";
    bytes.reserve(84 + 50 * mesh.triangles.size());
    bytes.resize(80, ' ');
    put(bytes, static_cast<std::uint32_t>(mesh.triangles.size()));
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3& a = mesh.corner(t, 0);
        const Vec3& b = mesh.corner(t, 1);
        const Vec3& c = mesh.corner(t, 2);
        const Vec3 cross = (b - a).cross(c - a);
        const double length = cross.norm();
        put(bytes, narrowed(length > 0.0 ? Vec3(cross / length) : Vec3::Zero()));
        put(bytes, narrowed(a));
        put(bytes, narrowed(b));
        put(bytes, narrowed(c));
        put(bytes, std::uint16_t{0});
    }
    return bytes;
}

std::string ply_bytes(const TriMesh& mesh, std::span<const Rgb> vertex_colors) {
    require_colors(mesh, vertex_colors);
    require_finite(mesh, std::numeric_limits<double>::max());
    bool as_float = true;
    for (const Vec3& v : mesh.vertices) {
        as_float = as_float && v.cwiseAbs().maxCoeff() <= kLargestFloat &&
                   v.cast<float>().cast<double>() == v;
    }
    const char* number = as_float ? "float" : "double";
    std::string bytes = fmt::format(
        "ply\nformat binary_little_endian 1.0\ncomment written by cavigram, lengths in "
        "millimeters\n"
        "element vertex {}\nproperty {} x\nproperty {} y\nproperty {} z\n",
        mesh.vertices.size(), number, number, number);
    if (!vertex_colors.empty()) {
        bytes += "property uchar red\nproperty uchar green\nproperty uchar blue\n";
    }
    bytes += fmt::format("element face {}\nproperty list uchar int vertex_indices\nend_header\n",
                         mesh.triangles.size());
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
        if (as_float) {
            put(bytes, narrowed(mesh.vertices[i]));
        } else {
            put(bytes, std::array<double, 3>{mesh.vertices[i][0], mesh.vertices[i][1],
                                             mesh.vertices[i][2]});
        }
        if (!vertex_colors.empty()) {
            put(bytes, vertex_colors[i]);
        }
    }
    for (const Triangle& t : mesh.triangles) {
        put(bytes, std::uint8_t{3});
        put(bytes, t);
    }
    return bytes;
}

namespace {

// The sRGB transfer function (IEC 61966-2-1) undone, back in a byte.
std::uint8_t linear(std::uint8_t srgb) {
    const double s = srgb / 255.0;
    const double value = s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
    return static_cast<std::uint8_t>(std::lround(255.0 * value));
}

// Constants of glTF 2.0 for accessors and buffer views.
constexpr int kUnsignedByte = 5121;
constexpr int kUnsignedInt = 5125;
constexpr int kFloat = 5126;
constexpr int kVertexData = 34962;
constexpr int kIndexData = 34963;

// The JSON of the file and the one binary buffer behind it.
class GlbFile {
  public:
    GlbFile() {}  // NOLINT: making the JSON may throw for want of memory, so not `= default`

    // Adds a buffer view and its accessor; returns the accessor's number. All pieces are multiples
    // of four bytes.
    std::size_t add(std::string_view data, int target, int component, std::size_t count,
                    const char* type,
                    const nlohmann::ordered_json& more = nlohmann::ordered_json::object()) {
        const std::size_t view = json["bufferViews"].size();
        json["bufferViews"].push_back({{"buffer", 0},
                                       {"byteOffset", binary_.size()},
                                       {"byteLength", data.size()},
                                       {"target", target}});
        nlohmann::ordered_json accessor = {
            {"bufferView", view}, {"componentType", component}, {"count", count}, {"type", type}};
        accessor.update(more);
        json["accessors"].push_back(std::move(accessor));
        binary_ += data;
        return view;
    }

    // Container: header of 12 bytes, then chunks of length, type and data (glTF 2.0, section 4.4).
    [[nodiscard]] std::string bytes() {
        json["buffers"] = {{{"byteLength", binary_.size()}}};
        std::string text =
            json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
        text.resize((text.size() + 3) / 4 * 4, ' ');
        const std::size_t total = 12 + 8 + text.size() + 8 + binary_.size();
        if (total > std::numeric_limits<std::uint32_t>::max()) {
            throw InvalidInput(
                "The mesh is too large for a GLB file of 4 GiB; write PLY or a coarser mesh.");
        }
        std::string file = "glTF";
        file.reserve(total);
        put(file, std::uint32_t{2});
        put(file, static_cast<std::uint32_t>(total));
        put(file, static_cast<std::uint32_t>(text.size()));
        file += "JSON" + text;
        put(file, static_cast<std::uint32_t>(binary_.size()));
        file += std::string_view("BIN\0", 4);
        return file += binary_;
    }

    nlohmann::ordered_json json;

  private:
    std::string binary_;
};

std::string_view as_text(const auto& values) {
    return {reinterpret_cast<const char*>(values.data()), values.size() * sizeof values[0]};
}

std::size_t add_positions(GlbFile& file, const TriMesh& mesh_mm) {
    constexpr double kMetersPerMm = 0.001;
    std::vector<std::array<float, 3>> positions;
    positions.reserve(mesh_mm.vertices.size());
    std::array<float, 3> low{};
    std::array<float, 3> high{};
    for (const Vec3& v : mesh_mm.vertices) {
        const auto p = narrowed(kMetersPerMm * v);
        for (std::size_t k = 0; k < 3; ++k) {
            low[k] = positions.empty() ? p[k] : std::min(low[k], p[k]);
            high[k] = positions.empty() ? p[k] : std::max(high[k], p[k]);
        }
        positions.push_back(p);
    }
    return file.add(as_text(positions), kVertexData, kFloat, positions.size(), "VEC3",
                    {{"min", low}, {"max", high}});
}

std::size_t add_colors(GlbFile& file, std::span<const Rgb> vertex_colors) {
    std::vector<std::array<std::uint8_t, 4>> colors;
    colors.reserve(vertex_colors.size());
    for (const Rgb& c : vertex_colors) {
        colors.push_back({linear(c[0]), linear(c[1]), linear(c[2]), 255});
    }
    return file.add(as_text(colors), kVertexData, kUnsignedByte, colors.size(), "VEC4",
                    {{"normalized", true}});
}

}  // namespace

std::string glb_bytes(const TriMesh& mesh_mm, std::span<const Rgb> vertex_colors,
                      std::string_view name) {
    const NamedMesh one{mesh_mm, vertex_colors, name};
    return glb_bytes(std::span(&one, 1));
}

std::string glb_bytes(std::span<const NamedMesh> meshes) {
    GlbFile file;
    file.json["asset"] = {{"version", "2.0"}, {"generator", "cavigram"}};
    file.json["scene"] = 0;
    file.json["scenes"] = {{{"nodes", nlohmann::ordered_json::array()}}};
    // Matte, and seen from both sides: cut-away and open surfaces are shown too.
    file.json["materials"] = {
        {{"pbrMetallicRoughness", {{"metallicFactor", 0.0}, {"roughnessFactor", 0.9}}},
         {"doubleSided", true}}};
    // A turn by -90 degrees about x brings z, up here, to y, up in glTF: (x, y, z) becomes (x, z,
    // -y).
    const double half = std::sqrt(0.5);
    for (std::size_t i = 0; i < meshes.size(); ++i) {
        const NamedMesh& one = meshes[i];
        if (one.mesh_mm.triangles.empty()) {
            throw InvalidInput("There is no triangle to write; glTF knows no empty mesh.");
        }
        require_colors(one.mesh_mm, one.vertex_colors);
        require_finite(one.mesh_mm, kLargestFloat);
        file.json["scenes"][0]["nodes"].push_back(i);
        file.json["nodes"].push_back(
            {{"name", one.name}, {"mesh", i}, {"rotation", {-half, 0.0, 0.0, half}}});
        nlohmann::ordered_json attributes = {{"POSITION", add_positions(file, one.mesh_mm)}};
        if (!one.vertex_colors.empty()) {
            attributes["COLOR_0"] = add_colors(file, one.vertex_colors);
        }
        const std::size_t indices =
            file.add(as_text(one.mesh_mm.triangles), kIndexData, kUnsignedInt,
                     3 * one.mesh_mm.triangles.size(), "SCALAR");
        file.json["meshes"].push_back(
            {{"name", one.name},
             {"primitives",
              {{{"attributes", attributes}, {"indices", indices}, {"material", 0}, {"mode", 4}}}}});
    }
    return file.bytes();
}

}  // namespace cavigram
