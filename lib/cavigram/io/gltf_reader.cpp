// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/gltf_reader.h"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/large_array.h"
#include "cavigram/io/draco_mesh_detail.h"
#include "cavigram/io/gltf_data_detail.h"
#include "cavigram/io/gltf_document_detail.h"
#include "cavigram/io/soup_check_detail.h"

static_assert(std::endian::native == std::endian::little, "glTF is little-endian and is copied");

namespace cavigram {

namespace {

constexpr std::uint64_t kMostPlaced = 50'000'000;

std::uint32_t u32(std::string_view bytes, std::size_t at) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes.data() + at, sizeof value);
    return value;
}

// ---- the GLB container: specification, section 4 ----

struct Pieces {
    std::string_view json;
    std::optional<std::string_view> bin;
};

Pieces pieces_of_glb(std::string_view bytes, std::string_view name) {
    const auto refuse_cut = [&](std::uint64_t promised) {
        refuse(name,
               fmt::format("it should be {} bytes long but only {} are there; copy or export it "
                           "again",
                           static_cast<unsigned long long>(promised), bytes.size()));
    };
    constexpr std::size_t kHeader = 12;
    constexpr std::size_t kChunkHeader = 8;
    constexpr std::uint32_t kJson = 0x4E4F534A;
    constexpr std::uint32_t kBin = 0x004E4942;
    if (bytes.size() < kHeader + kChunkHeader) {
        refuse_cut(kHeader + kChunkHeader);
    }
    if (u32(bytes, 4) != 2) {
        refuse(name,
               fmt::format("it is GLB of version {}, which this program does not know; export it "
                           "as glTF 2.0, or as STL",
                           u32(bytes, 4)));
    }
    if (u32(bytes, 8) > bytes.size()) {
        refuse_cut(u32(bytes, 8));
    }
    Pieces pieces;
    std::size_t at = kHeader;
    while (bytes.size() - at >= kChunkHeader) {
        const std::uint32_t length = u32(bytes, at);
        const std::uint32_t kind = u32(bytes, at + 4);
        at += kChunkHeader;
        if (length > bytes.size() - at) {
            refuse_cut(std::uint64_t{at} + length);
        }
        if (kind == kJson && pieces.json.empty()) {
            pieces.json = bytes.substr(at, length);
        } else if (kind == kBin && !pieces.bin) {
            pieces.bin = bytes.substr(at, length);
        }
        at += length;
    }
    return pieces;
}

// ---- shapes ----

// The triangles of a list of corners (specification, section 3.7.2.1).
std::vector<Triangle> triangles_of(std::uint64_t mode, const std::vector<std::int32_t>& c) {
    std::vector<Triangle> triangles;
    const auto add = [&](std::int32_t i, std::int32_t j, std::int32_t k) {
        if (i != j && j != k && k != i) {  // Those with a corner twice only join strips.
            triangles.push_back({i, j, k});
        }
    };
    if (mode == 4) {
        triangles.reserve(c.size() / 3);
        for (std::size_t i = 0; i + 2 < c.size(); i += 3) {
            add(c[i], c[i + 1], c[i + 2]);
        }
        return triangles;
    }
    triangles.reserve(c.size());
    for (std::size_t i = 0; i + 2 < c.size(); ++i) {
        if (mode == 5) {
            add(c[i], c[i + 1 + i % 2], c[i + 2 - i % 2]);
        } else {
            add(c[i + 1], c[i + 2], c[0]);
        }
    }
    return triangles;
}

class Scene {
  public:
    Scene(const GltfDocument& document, GltfData& data, std::string_view name)
        : document_(document), data_(data), name_(name), meshes_(document.meshes.size()) {}

    TriMesh read() {
        walk();
        TriMesh mesh;
        reserve_large(mesh.vertices, static_cast<std::size_t>(vertices_));
        reserve_large(mesh.triangles, static_cast<std::size_t>(triangles_));
        for (const Placement& placed : placements_) {
            add(*meshes_[placed.mesh], placed.transform, mesh);
        }
        return mesh;
    }
    [[nodiscard]] bool posed() const { return posed_; }

  private:
    struct Placement {
        std::size_t mesh = 0;
        Eigen::Matrix4d transform;
    };

    // Finds all placements and counts what they hold together. The nodes must be trees: one that is
    // met twice is in a circle, or has two parents.
    void walk() {
        std::vector<bool> met(document_.nodes.size(), false);
        std::vector<std::pair<std::size_t, Eigen::Matrix4d>> waiting;
        const auto meet = [&](std::size_t index, const Eigen::Matrix4d& above) {
            if (index >= document_.nodes.size() || met[index]) {
                refuse(name_,
                       "its nodes hang together in a circle, or one is missing; export the "
                       "part again");
            }
            met[index] = true;
            waiting.emplace_back(index, above);
        };
        // A model stands y up: (x, y, z) becomes (x, -z, y), a quarter turn about x.
        Eigen::Matrix4d turn = Eigen::Matrix4d::Identity();
        turn.block<2, 2>(1, 1) << 0.0, -1.0, 1.0, 0.0;
        for (const std::size_t root : document_.roots) {
            meet(root, turn);
        }
        while (!waiting.empty()) {
            const auto [index, above] = waiting.back();
            waiting.pop_back();
            const GltfNode& node = document_.nodes[index];
            const Eigen::Matrix4d here = above * node.transform;
            place(node, here);
            for (std::size_t i = node.children.size(); i-- > 0;) {
                meet(node.children[i], here);
            }
        }
    }

    void place(const GltfNode& node, const Eigen::Matrix4d& here) {
        if (!node.mesh) {
            return;
        }
        const std::size_t triangles = mesh(*node.mesh).triangles.size();
        if (triangles == 0) {
            return;
        }
        posed_ = posed_ || node.skinned || node.morphed || document_.meshes[*node.mesh].morphed;
        if (!node.instancing) {
            count(*node.mesh, 1);
            placements_.push_back({*node.mesh, here});
            return;
        }
        const std::vector<Eigen::Matrix4d> copies = copies_of(*node.instancing);
        count(*node.mesh, copies.size());
        for (const Eigen::Matrix4d& copy : copies) {
            placements_.push_back({*node.mesh, here * copy});
        }
    }

    // EXT_mesh_gpu_instancing: each copy's own translation, rotation and scale, within the node's.
    std::vector<Eigen::Matrix4d> copies_of(const GltfInstancing& instancing) {
        const auto values = [&](const std::optional<std::size_t>& accessor, std::size_t width) {
            return accessor ? data_.numbers(*accessor, width) : std::vector<double>();
        };
        const std::vector<double> t = values(instancing.translation, 3);
        const std::vector<double> r = values(instancing.rotation, 4);
        const std::vector<double> s = values(instancing.scale, 3);
        const std::size_t copies = std::max({t.size() / 3, r.size() / 4, s.size() / 3});
        if ((!t.empty() && t.size() != 3 * copies) || (!r.empty() && r.size() != 4 * copies) ||
            (!s.empty() && s.size() != 3 * copies)) {
            refuse(name_, "it places copies by lists of different lengths; export the part again");
        }
        std::vector<Eigen::Matrix4d> result;
        result.reserve(copies);
        for (std::size_t i = 0; i < copies; ++i) {
            result.push_back(gltf_transform(
                t.empty() ? Vec3(Vec3::Zero()) : Vec3(t[3 * i], t[3 * i + 1], t[3 * i + 2]),
                r.empty() ? Eigen::Vector4d(Eigen::Vector4d::UnitW())
                          : Eigen::Vector4d(r[4 * i], r[4 * i + 1], r[4 * i + 2], r[4 * i + 3]),
                s.empty() ? Vec3(Vec3::Ones()) : Vec3(s[3 * i], s[3 * i + 1], s[3 * i + 2])));
        }
        return result;
    }

    void count(std::size_t mesh, std::size_t copies) {
        vertices_ += std::uint64_t{copies} * meshes_[mesh]->vertices.size();
        triangles_ += std::uint64_t{copies} * meshes_[mesh]->triangles.size();
        if (vertices_ > kMostPlaced || triangles_ > kMostPlaced) {
            refuse(name_, fmt::format("with all its copies it would hold more than {} triangles or "
                                      "vertices; export one copy, or make the mesh coarser",
                                      static_cast<unsigned long long>(kMostPlaced)));
        }
    }

    const TriMesh& mesh(std::size_t index) {
        if (index >= meshes_.size()) {
            refuse(name_, "it places a mesh that it does not hold; export the part again");
        }
        if (!meshes_[index]) {
            meshes_[index].emplace();
            for (const GltfPrimitive& primitive : document_.meshes[index].primitives) {
                add(shape(primitive), Eigen::Matrix4d::Identity(), *meshes_[index]);
            }
        }
        return *meshes_[index];
    }

    TriMesh shape(const GltfPrimitive& primitive) {
        if (primitive.mode < 4 || !primitive.position) {
            return {};  // Points and lines.
        }
        if (primitive.mode > 6) {
            refuse(name_, "it draws in a way that glTF does not know; export the part again");
        }
        if (primitive.draco) {
            return unpacked(primitive);
        }
        const std::vector<double> numbers = data_.numbers(*primitive.position, 3);
        TriMesh shape;
        shape.vertices.reserve(numbers.size() / 3);
        for (std::size_t i = 0; i + 2 < numbers.size(); i += 3) {
            shape.vertices.emplace_back(numbers[i], numbers[i + 1], numbers[i + 2]);
        }
        shape.triangles = triangles_of(primitive.mode, corners(primitive, shape.vertices.size()));
        return shape;
    }

    std::vector<std::int32_t> corners(const GltfPrimitive& primitive, std::size_t vertices) {
        std::vector<std::int32_t> result;
        if (!primitive.indices) {
            result.resize(vertices);
            for (std::size_t i = 0; i < vertices; ++i) {
                result[i] = static_cast<std::int32_t>(i);
            }
        } else {
            const std::vector<std::uint32_t> indices = data_.indices(*primitive.indices);
            result.reserve(indices.size());
            for (const std::uint32_t index : indices) {
                if (index >= vertices) {
                    refuse(name_,
                           fmt::format("a face names vertex {}, but there are only {}; export "
                                       "the part again",
                                       index, vertices));
                }
                result.push_back(static_cast<std::int32_t>(index));
            }
        }
        if (primitive.mode == 4 && result.size() % 3 != 0) {
            refuse(name_, "its corners do not come in threes; export the part again");
        }
        return result;
    }

    TriMesh unpacked(const GltfPrimitive& primitive) {
        const GltfAccessor& about = data_.accessor(*primitive.position);
        auto shape = unpack_draco(data_.view(primitive.draco->view),
                                  static_cast<std::uint32_t>(primitive.draco->position_id));
        if (!shape || shape->vertices.size() != about.count) {
            refuse(name_,
                   "its packed data (KHR_draco_mesh_compression) are damaged; export the "
                   "part again, without compression if you can");
        }
        if (about.normalized) {
            const double most = about.component_type == 5120   ? 127.0
                                : about.component_type == 5121 ? 255.0
                                : about.component_type == 5122 ? 32767.0
                                                               : 65535.0;
            for (Vec3& v : shape->vertices) {
                v = (v / most).cwiseMax(-1.0);
            }
        }
        return std::move(*shape);
    }

    static void add(const TriMesh& source, const Eigen::Matrix4d& transform, TriMesh& to) {
        const Mat3 linear = transform.topLeftCorner<3, 3>();
        const Vec3 shift = transform.topRightCorner<3, 1>();
        const auto first = static_cast<std::int32_t>(to.vertices.size());
        for (const Vec3& v : source.vertices) {
            to.vertices.push_back(linear * v + shift);
        }
        const bool mirrored = linear.determinant() < 0.0;
        for (const Triangle& t : source.triangles) {
            to.triangles.push_back(
                {first + t[mirrored ? 2 : 0], first + t[1], first + t[mirrored ? 0 : 2]});
        }
    }

    const GltfDocument& document_;
    GltfData& data_;
    std::string_view name_;
    std::vector<std::optional<TriMesh>> meshes_;
    std::vector<Placement> placements_;
    std::uint64_t vertices_ = 0;
    std::uint64_t triangles_ = 0;
    bool posed_ = false;
};

}  // namespace

std::optional<Soup> parse_gltf(std::string_view bytes, const std::filesystem::path& folder,
                               std::string_view name) {
    const bool binary = bytes.starts_with("glTF");
    if (binary && bytes.size() >= 8 && u32(bytes, 4) == 1) {
        return std::nullopt;
    }
    const Pieces pieces = binary ? pieces_of_glb(bytes, name) : Pieces{bytes, std::nullopt};
    const auto document = parse_gltf_document(pieces.json, name);
    if (!document) {
        return std::nullopt;
    }
    GltfData data(*document, pieces.bin, folder, name);
    Scene scene(*document, data, name);
    Soup soup;
    soup.format = binary ? "glb" : "gltf";
    soup.unit_mm = 1000.0;  // Section 3.4: meters, y up.
    soup.mesh = scene.read();
    soup.triangles_in_file = soup.mesh.triangles.size();
    soup.findings.push_back(
        {Severity::note,
         "turned_z_up",
         "The file states that y points up; the part was turned so that z does.",
         {}});
    if (scene.posed()) {
        soup.findings.push_back(
            {Severity::warning,
             "pose_ignored",
             "The file's mesh hangs on a skeleton or is morphed; it was read as it was modeled, so "
             "apply the pose in the program that made it if the casting is to have it.",
             {}});
    }
    drop_bad_triangles(soup);
    finish_soup(soup, name, true);
    return soup;
}

}  // namespace cavigram
