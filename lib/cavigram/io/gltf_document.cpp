// SPDX-License-Identifier: GPL-3.0-or-later
// glTF 2.0 specification (ISO/IEC 12113:2022) and the Khronos registry's texts of the extensions.
#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <utility>

#include <Eigen/Geometry>
#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/io/gltf_document_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::json;

// Deeper than any tree of nodes that a file describes by nesting; glTF's own tree is a list.
constexpr int kDeepestJson = 100;

// What may be required of a reader and is done here.
constexpr std::array<std::string_view, 4> kShapeExtensions{
    "KHR_mesh_quantization", "KHR_draco_mesh_compression", "EXT_meshopt_compression",
    "EXT_mesh_gpu_instancing"};
// What may be required and only concerns looks.
constexpr std::array<std::string_view, 5> kLooks{"KHR_materials_", "KHR_texture_", "EXT_texture_",
                                                 "KHR_lights_", "KHR_xmp"};

bool nested_too_deep(std::string_view json) {
    int depth = 0;
    bool quoted = false;
    for (std::size_t i = 0; i < json.size(); ++i) {
        const char c = json[i];
        if (quoted) {
            i += c == '\\' ? 1 : 0;
            quoted = c != '"';
        } else if (c == '"') {
            quoted = true;
        } else if (c == '{' || c == '[') {
            if (++depth > kDeepestJson) {
                return true;
            }
        } else if (c == '}' || c == ']') {
            --depth;
        }
    }
    return false;
}

class Document {
  public:
    Document(const Json& json, std::string_view name) : json_(json), name_(name) {}

    GltfDocument read() {
        check_extensions();
        for (const Json& j : list(json_, "buffers")) {
            GltfBuffer buffer;
            if (const auto uri = j.find("uri"); uri != j.end()) {
                buffer.uri = word(j, "uri");
            }
            buffer.bytes = number(j, "byteLength");
            result_.buffers.push_back(std::move(buffer));
        }
        for (const Json& j : list(json_, "bufferViews")) {
            result_.views.push_back(view(j));
        }
        for (const Json& j : list(json_, "accessors")) {
            result_.accessors.push_back(accessor(j));
        }
        for (const Json& j : list(json_, "meshes")) {
            GltfMesh mesh;
            mesh.morphed = weighted(j);
            for (const Json& p : list(j, "primitives")) {
                mesh.primitives.push_back(primitive(p));
            }
            result_.meshes.push_back(std::move(mesh));
        }
        for (const Json& j : list(json_, "nodes")) {
            result_.nodes.push_back(node(j));
        }
        find_roots();
        return std::move(result_);
    }

  private:
    [[noreturn]] void refuse_field(const char* key) const {
        refuse(name_,
               fmt::format("its glTF text lacks {} where there should be one, or has a wrong "
                           "one; export the part again",
                           key));
    }

    static const Json& empty_list() {
        static const Json empty = Json::array();
        return empty;
    }
    const Json& list(const Json& of, const char* key) const {
        const auto found = object(of, key).find(key);
        if (found == of.end()) {
            return empty_list();
        }
        if (!found->is_array()) {
            refuse_field(key);
        }
        return *found;
    }
    const Json& object(const Json& j, const char* key) const {
        if (!j.is_object()) {
            refuse_field(key);
        }
        return j;
    }
    // An object that may be missing; null then.
    const Json* part(const Json& of, const char* key) const {
        const auto found = object(of, key).find(key);
        if (found == of.end()) {
            return nullptr;
        }
        return &object(*found, key);
    }
    const Json* extension(const Json& of, const char* key) const {
        const Json* const all = part(of, "extensions");
        return all == nullptr ? nullptr : part(*all, key);
    }
    std::uint64_t whole(const Json& j, const char* key) const {
        if (j.is_number_unsigned()) {
            return j.get<std::uint64_t>();
        }
        const double value = j.is_number() ? j.get<double>() : -1.0;
        if (!(value >= 0.0 && value < 9e15) || value != std::floor(value)) {
            refuse_field(key);
        }
        return static_cast<std::uint64_t>(value);
    }
    // Bounded, so that sums of a few of them can't run over.
    std::uint64_t number(const Json& of, const char* key,
                         std::optional<std::uint64_t> missing = std::nullopt) const {
        const auto found = object(of, key).find(key);
        if (found == of.end() && missing) {
            return *missing;
        }
        const std::uint64_t value = found == of.end() ? ~std::uint64_t{0} : whole(*found, key);
        if (value > (std::uint64_t{1} << 53)) {
            refuse_field(key);
        }
        return value;
    }
    std::optional<std::size_t> index(const Json& of, const char* key) const {
        return object(of, key).contains(key)
                   ? std::optional(static_cast<std::size_t>(number(of, key)))
                   : std::nullopt;
    }
    std::string word(const Json& of, const char* key, const char* missing = nullptr) const {
        const auto found = object(of, key).find(key);
        if (found == of.end() && missing != nullptr) {
            return missing;
        }
        if (found == of.end() || !found->is_string()) {
            refuse_field(key);
        }
        return found->get<std::string>();
    }
    template <int kCount>
    Eigen::Matrix<double, kCount, 1> numbers(
        const Json& of, const char* key, const Eigen::Matrix<double, kCount, 1>& missing) const {
        const auto found = object(of, key).find(key);
        if (found == of.end()) {
            return missing;
        }
        Eigen::Matrix<double, kCount, 1> result;
        if (!found->is_array() || found->size() != kCount) {
            refuse_field(key);
        }
        for (int i = 0; i < kCount; ++i) {
            const Json& value = (*found)[static_cast<std::size_t>(i)];
            if (!value.is_number()) {
                refuse_field(key);
            }
            result[i] = value.get<double>();
        }
        return result;
    }

    void check_extensions() const {
        for (const Json& j : list(json_, "extensionsRequired")) {
            const std::string id = j.is_string() ? j.get<std::string>() : "?";
            const bool shape = std::find(kShapeExtensions.begin(), kShapeExtensions.end(), id) !=
                               kShapeExtensions.end();
            const bool looks = std::any_of(kLooks.begin(), kLooks.end(),
                                           [&](std::string_view l) { return id.starts_with(l); });
            if (!shape && !looks) {
                refuse(name_, "it requires the glTF extension " + shown_text(id) +
                                  ", which this program does not read; export the part without "
                                  "it, or as STL");
            }
        }
    }

    [[nodiscard]] GltfView view(const Json& j) const {
        GltfView result;
        result.buffer = static_cast<std::size_t>(number(j, "buffer"));
        result.offset = number(j, "byteOffset", 0);
        result.bytes = number(j, "byteLength");
        result.stride = number(j, "byteStride", 0);
        if (const Json* const packed = extension(j, "EXT_meshopt_compression")) {
            result.meshopt = GltfMeshopt{static_cast<std::size_t>(number(*packed, "buffer")),
                                         number(*packed, "byteOffset", 0),
                                         number(*packed, "byteLength"),
                                         number(*packed, "byteStride"),
                                         number(*packed, "count"),
                                         word(*packed, "mode"),
                                         word(*packed, "filter", "NONE")};
        }
        return result;
    }

    [[nodiscard]] GltfAccessor accessor(const Json& j) const {
        static constexpr std::array<std::pair<std::string_view, std::size_t>, 7> kTypes{
            {{"SCALAR", 1},
             {"VEC2", 2},
             {"VEC3", 3},
             {"VEC4", 4},
             {"MAT2", 4},
             {"MAT3", 9},
             {"MAT4", 16}}};
        GltfAccessor result;
        result.view = index(j, "bufferView");
        result.offset = number(j, "byteOffset", 0);
        result.component_type = number(j, "componentType");
        result.count = number(j, "count");
        const auto normalized = j.find("normalized");
        result.normalized =
            normalized != j.end() && normalized->is_boolean() && normalized->get<bool>();
        const std::string type = word(j, "type");
        const auto* const found = std::find_if(kTypes.begin(), kTypes.end(),
                                               [&](const auto& t) { return t.first == type; });
        if (found == kTypes.end()) {
            refuse_field("type");
        }
        result.width = found->second;
        if (const Json* const sparse = part(j, "sparse")) {
            const Json* const indices = part(*sparse, "indices");
            const Json* const values = part(*sparse, "values");
            if (indices == nullptr || values == nullptr) {
                refuse_field("sparse");
            }
            result.sparse = GltfSparse{number(*sparse, "count"),
                                       static_cast<std::size_t>(number(*indices, "bufferView")),
                                       number(*indices, "byteOffset", 0),
                                       number(*indices, "componentType"),
                                       static_cast<std::size_t>(number(*values, "bufferView")),
                                       number(*values, "byteOffset", 0)};
        }
        return result;
    }

    [[nodiscard]] GltfPrimitive primitive(const Json& j) const {
        GltfPrimitive result;
        result.mode = number(j, "mode", 4);
        result.indices = index(j, "indices");
        const Json* const attributes = part(j, "attributes");
        if (attributes == nullptr) {
            refuse_field("attributes");
        }
        result.position = index(*attributes, "POSITION");
        if (const Json* const packed = extension(j, "KHR_draco_mesh_compression")) {
            const Json* const ids = part(*packed, "attributes");
            if (ids == nullptr) {
                refuse_field("attributes");
            }
            result.draco = GltfDraco{static_cast<std::size_t>(number(*packed, "bufferView")),
                                     number(*ids, "POSITION")};
        }
        return result;
    }

    [[nodiscard]] bool weighted(const Json& j) const {
        const Json& weights = list(j, "weights");
        return std::any_of(weights.begin(), weights.end(),
                           [](const Json& w) { return w.is_number() && w.get<double>() != 0.0; });
    }

    [[nodiscard]] GltfNode node(const Json& j) const {
        GltfNode result;
        if (object(j, "matrix").contains("matrix")) {
            // Column by column, as Eigen keeps them.
            const auto m = numbers<16>(j, "matrix", Eigen::Matrix<double, 16, 1>::Zero());
            result.transform = Eigen::Map<const Eigen::Matrix4d>(m.data());
        } else {
            result.transform = gltf_transform(numbers<3>(j, "translation", Vec3::Zero()),
                                              numbers<4>(j, "rotation", Eigen::Vector4d::UnitW()),
                                              numbers<3>(j, "scale", Vec3::Ones()));
        }
        for (const Json& child : list(j, "children")) {
            result.children.push_back(static_cast<std::size_t>(whole(child, "children")));
        }
        result.mesh = index(j, "mesh");
        result.skinned = j.contains("skin");
        result.morphed = weighted(j);
        if (const Json* const copies = extension(j, "EXT_mesh_gpu_instancing")) {
            const Json* const attributes = part(*copies, "attributes");
            if (attributes == nullptr) {
                refuse_field("attributes");
            }
            result.instancing =
                GltfInstancing{index(*attributes, "TRANSLATION"), index(*attributes, "ROTATION"),
                               index(*attributes, "SCALE")};
        }
        return result;
    }

    // The nodes of the scene; without any scene, those that are nobody's children.
    void find_roots() {
        const Json& scenes = list(json_, "scenes");
        if (!scenes.empty()) {
            const std::uint64_t shown = number(json_, "scene", 0);
            if (shown >= scenes.size()) {
                refuse_field("scene");
            }
            for (const Json& root : list(scenes[static_cast<std::size_t>(shown)], "nodes")) {
                result_.roots.push_back(static_cast<std::size_t>(whole(root, "nodes")));
            }
            return;
        }
        std::set<std::size_t> children;
        for (const GltfNode& node : result_.nodes) {
            children.insert(node.children.begin(), node.children.end());
        }
        for (std::size_t i = 0; i < result_.nodes.size(); ++i) {
            if (children.count(i) == 0) {
                result_.roots.push_back(i);
            }
        }
    }

    const Json& json_;
    std::string_view name_;
    GltfDocument result_;
};

std::string version_of(const Json& json, const char* key) {
    const auto asset = json.find("asset");
    if (asset == json.end() || !asset->is_object()) {
        return {};
    }
    const auto version = asset->find(key);
    return version == asset->end() || !version->is_string() ? std::string()
                                                            : version->get<std::string>();
}

}  // namespace

Eigen::Matrix4d gltf_transform(const Vec3& translation, const Eigen::Vector4d& rotation,
                               const Vec3& scale) {
    Eigen::Quaterniond turn(rotation[3], rotation[0], rotation[1], rotation[2]);
    if (const double norm = turn.norm(); norm > 0.0) {
        turn.coeffs() /= norm;
    } else {
        turn.setIdentity();
    }
    Eigen::Matrix4d result = Eigen::Matrix4d::Identity();
    result.topLeftCorner<3, 3>() = turn.toRotationMatrix() * scale.asDiagonal();
    result.topRightCorner<3, 1>() = translation;
    return result;
}

std::optional<GltfDocument> parse_gltf_document(std::string_view json, std::string_view name) {
    if (nested_too_deep(json)) {
        refuse(name, "its glTF text is nested too deep to be a model; export the part again");
    }
    const Json parsed = Json::parse(json.begin(), json.end(), nullptr, false);
    if (parsed.is_discarded() || !parsed.is_object()) {
        refuse(name, "its glTF text is no sound JSON; copy or export it again");
    }
    const std::string version = version_of(parsed, "version");
    const auto meshes = parsed.find("meshes");
    if (version.starts_with("1.") || version == "1" ||
        (meshes != parsed.end() && meshes->is_object())) {
        return std::nullopt;
    }
    const std::string least = version_of(parsed, "minVersion");
    if (!version.starts_with("2.") || (!least.empty() && least != "2.0")) {
        refuse(name, "it is glTF of a version that this program does not know (" +
                         shown_text(least.empty() ? version : least) +
                         "); export it as glTF 2.0, or as STL");
    }
    return Document(parsed, name).read();
}

}  // namespace cavigram
