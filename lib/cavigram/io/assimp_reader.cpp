// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include <assimp/BaseImporter.h>
#include <assimp/DefaultIOSystem.h>
#include <assimp/Importer.hpp>
#include <assimp/MemoryIOWrapper.h>
#include <assimp/config.h>
#include <assimp/importerdesc.h>
#include <assimp/scene.h>
#include <fmt/core.h>

#include "cavigram/io/assimp_reader_detail.h"
#include "cavigram/io/polygon_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/stated_unit_detail.h"

namespace cavigram {

namespace {

namespace fs = std::filesystem;

// Shows Assimp the bytes under a name that fits their format, and of the disk only glTF's buffers
// beside the file.
class FencedFiles : public Assimp::IOSystem {
  public:
    FencedFiles(std::string_view bytes, const MeshFormat& format, const fs::path& folder)
        : bytes_(bytes),
          folder_(fs::weakly_canonical(folder.empty() ? fs::path(".") : folder)),
          name_((folder_ / ("mesh." + std::string(shown_extension(bytes, format)))).string()),
          buffers_allowed_(format.name == "gltf" || format.name == "glb") {}

    [[nodiscard]] const std::string& name() const { return name_; }

    bool Exists(const char* path) const override {
        return path == name_ || (allowed(path) && disk_.Exists(path));
    }
    [[nodiscard]] char getOsSeparator() const override { return '/'; }
    Assimp::IOStream* Open(const char* path, const char* mode) override {
        if (path == name_) {
            return new Assimp::MemoryIOStream(reinterpret_cast<const std::uint8_t*>(bytes_.data()),
                                              bytes_.size());
        }
        return allowed(path) && std::string_view(mode).starts_with('r') ? disk_.Open(path, mode)
                                                                        : nullptr;
    }
    void Close(Assimp::IOStream* file) override { delete file; }

  private:
    // COLLADA in a zip archive goes by another extension, and the importer heeds that.
    static std::string_view shown_extension(std::string_view bytes, const MeshFormat& format) {
        return format.name == "dae" && bytes.starts_with("PK") ? format.extension_2
                                                               : format.extension;
    }
    [[nodiscard]] bool allowed(const char* path) const {
        std::error_code error;
        const fs::path full = fs::weakly_canonical(path, error);
        if (!buffers_allowed_ || error || !fs::is_regular_file(full, error)) {
            return false;
        }
        return std::mismatch(folder_.begin(), folder_.end(), full.begin(), full.end()).first ==
               folder_.end();
    }

    std::string_view bytes_;
    fs::path folder_;
    std::string name_;
    bool buffers_allowed_;
    mutable Assimp::DefaultIOSystem disk_;
};

bool lists_extension(std::string_view list, std::string_view extension) {
    const std::string padded = " " + std::string(list) + " ";
    return padded.find(" " + std::string(extension) + " ") != padded.npos;
}

// Leaves only the importers of one format, so that a file can't reach any of the other forty.
void keep_importers_of(Assimp::Importer& importer, const MeshFormat& format) {
    for (std::size_t i = importer.GetImporterCount(); i-- > 0;) {
        const aiImporterDesc* about = importer.GetImporterInfo(i);
        if (about == nullptr || !lists_extension(about->mFileExtensions, format.extension)) {
            Assimp::BaseImporter* const unwanted = importer.GetImporter(i);
            importer.UnregisterLoader(unwanted);
            delete unwanted;  // Assimp hands it back with this call.
        }
    }
}

Eigen::Matrix4d matrix(const aiMatrix4x4& m) {
    Eigen::Matrix4d result;
    for (unsigned int row = 0; row < 4; ++row) {
        for (unsigned int column = 0; column < 4; ++column) {
            result(row, column) = static_cast<double>(m[row][column]);
        }
    }
    return result;
}

// A node stood y up: (x, y, z) becomes (x, -z, y), a quarter turn about x.
Eigen::Matrix4d y_up_to_z_up() {
    Eigen::Matrix4d turn = Eigen::Matrix4d::Identity();
    turn.block<2, 2>(1, 1) << 0.0, -1.0, 1.0, 0.0;
    return turn;
}

class SceneReader {
  public:
    SceneReader(const aiScene& scene, std::string_view name) : scene_(scene), name_(name) {}

    // Walks the tree of nodes depth first, without recursion: a malformed file may nest them
    // without end.
    TriMesh read(const Eigen::Matrix4d& root_transform) {
        std::vector<std::pair<const aiNode*, Eigen::Matrix4d>> waiting;
        if (scene_.mRootNode != nullptr) {
            waiting.emplace_back(scene_.mRootNode, root_transform);
        }
        while (!waiting.empty()) {
            const auto [node, above] = waiting.back();
            waiting.pop_back();
            const Eigen::Matrix4d here = above * matrix(node->mTransformation);
            for (unsigned int i = 0; i < node->mNumMeshes; ++i) {
                add_instance(node->mMeshes[i], here);
            }
            for (unsigned int i = node->mNumChildren; i-- > 0;) {
                if (node->mChildren[i] != nullptr) {
                    waiting.emplace_back(node->mChildren[i], here);
                }
            }
        }
        return std::move(mesh_);
    }

  private:
    void add_instance(unsigned int number, const Eigen::Matrix4d& transform) {
        if (number >= scene_.mNumMeshes || scene_.mMeshes[number] == nullptr) {
            refuse(name_, "it places a mesh that it does not hold; export the part again");
        }
        const aiMesh& source = *scene_.mMeshes[number];
        if (source.mVertices == nullptr || source.mFaces == nullptr) {
            return;
        }
        const std::size_t first = mesh_.vertices.size();
        check_room(first + source.mNumVertices);
        const Mat3 linear = transform.topLeftCorner<3, 3>();
        const Vec3 shift = transform.topRightCorner<3, 1>();
        for (unsigned int i = 0; i < source.mNumVertices; ++i) {
            const aiVector3D& p = source.mVertices[i];
            mesh_.vertices.push_back(linear * Vec3(p.x, p.y, p.z) + shift);
        }
        const bool mirrored = linear.determinant() < 0.0;
        std::vector<std::int32_t> corners;
        for (unsigned int i = 0; i < source.mNumFaces; ++i) {
            add_face(source.mFaces[i], source.mNumVertices, first, mirrored, corners);
        }
    }

    void add_face(const aiFace& face, unsigned int vertices, std::size_t first, bool mirrored,
                  std::vector<std::int32_t>& corners) {
        if (face.mNumIndices < 3 || face.mIndices == nullptr) {
            return;  // A point or a line.
        }
        corners.clear();
        for (unsigned int k = 0; k < face.mNumIndices; ++k) {
            if (face.mIndices[k] >= vertices) {
                refuse(name_,
                       fmt::format(
                           "a face names vertex {}, but there are only {}; export the part again",
                           face.mIndices[k], vertices));
            }
            corners.push_back(static_cast<std::int32_t>(first + face.mIndices[k]));
        }
        if (mirrored) {
            std::reverse(corners.begin(), corners.end());
        }
        cut_polygon(corners, mesh_.vertices, mesh_.triangles);
        check_room(mesh_.triangles.size());
    }

    void check_room(std::size_t count) const {
        if (count > static_cast<std::size_t>(std::numeric_limits<std::int32_t>::max())) {
            refuse(name_,
                   "it holds more vertices or triangles than this program can number; make the "
                   "mesh coarser");
        }
    }

    const aiScene& scene_;
    std::string_view name_;
    TriMesh mesh_;
};

// Assimp's own words, on one line and short, without a period of their own; not those that name the
// file, for it knows a name that is not the person's.
std::string said(const Assimp::Importer& importer, const std::string& shown_name) {
    std::string text = importer.GetErrorString();
    if (text.find(shown_name) != text.npos) {
        return "its beginning is not as it should be";
    }
    text.resize(std::min<std::size_t>(text.size(), 160));
    for (char& c : text) {
        c = c >= ' ' && c < 0x7F ? c : ' ';
    }
    text.erase(std::find_if(text.rbegin(), text.rend(), [](char c) { return c != '.' && c != ' '; })
                   .base(),
               text.end());
    return text.empty() ? "no reason given" : text;
}

template <class T>
std::optional<T> stated_by(const aiScene& scene, const char* key) {
    T value{};
    return scene.mMetaData != nullptr && scene.mMetaData->Get(key, value) ? std::optional(value)
                                                                          : std::nullopt;
}

std::optional<double> unit_of(const aiScene& scene, const MeshFormat& format,
                              std::string_view bytes) {
    if (format.name == "amf") {
        return unit_of_amf(bytes);
    }
    if (format.name == "fbx") {
        // FBX counts in centimeters times this factor.
        const auto factor = stated_by<float>(scene, "UnitScaleFactor");
        return factor && *factor > 0.0F && std::isfinite(*factor)
                   ? std::optional(10.0 * static_cast<double>(*factor))
                   : std::nullopt;
    }
    return format.unit_mm;
}

bool stands_y_up(const aiScene& scene, const MeshFormat& format) {
    return format.y_up || (format.name == "fbx" && stated_by<std::int32_t>(scene, "UpAxis") == 1 &&
                           stated_by<std::int32_t>(scene, "UpAxisSign") == 1);
}

}  // namespace

Soup read_with_assimp(std::string_view bytes, const MeshFormat& format, const fs::path& folder,
                      std::string_view name) {
    Assimp::Importer importer;
    keep_importers_of(importer, format);
    auto files = std::make_unique<FencedFiles>(bytes, format, folder);
    const std::string shown_name = files->name();
    importer.SetIOHandler(files.release());  // The importer owns it from here.
    // No steps after reading: welding by Assimp looks at normals too and takes three times the
    // memory.
    const aiScene* scene = importer.ReadFile(shown_name, 0);
    if (scene == nullptr) {
        refuse(name, "it can't be read as " + std::string(format.name) + " (" +
                         said(importer, shown_name) +
                         "); export the part again, as binary STL if you can");
    }
    Soup soup;
    soup.format = format.name;
    soup.unit_mm = unit_of(*scene, format, bytes);
    const bool y_up = stands_y_up(*scene, format);
    soup.mesh = SceneReader(*scene, name).read(y_up ? y_up_to_z_up() : Eigen::Matrix4d::Identity());
    importer.FreeScene();
    soup.triangles_in_file = soup.mesh.triangles.size();
    if (y_up) {
        soup.findings.push_back(
            {Severity::note,
             "turned_z_up",
             "The file states that y points up; the part was turned so that z does.",
             {}});
    }
    drop_bad_triangles(soup);
    finish_soup(soup, name, true);
    return soup;
}

}  // namespace cavigram
