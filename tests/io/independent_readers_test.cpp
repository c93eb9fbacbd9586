// SPDX-License-Identifier: GPL-3.0-or-later
// 3MF and glTF as others read them: lib3mf 1.8.1 and tinygltf 2.7.0 (Debian's lib3mf-dev and
// libtinygltf-dev), on files made by the formats' own rules.
//
// lib3mf keeps single precision and merges components and build items itself. tinygltf hands out
// raw numbers; nodes are placed here, by glTF 2.0 section 3.5.3.
#include <algorithm>
#include <map>
#include <memory>

#include <Model/COM/NMR_DLLInterfaces.h>
#include <tiny_gltf.h>

#include "cavigram/io/gltf_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/io/threemf_reader.h"
#include "cavigram/mesh/solids.h"

#include "gltf_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

// What a mesh holds, whatever the order of its triangles.
void check_same(const TriMesh& mine, const TriMesh& theirs, double share) {
    REQUIRE(mine.triangles.size() == theirs.triangles.size());
    CHECK_NEAR(plain_volume(mine), plain_volume(theirs), share);
    CHECK_NEAR(plain_area(mine), plain_area(theirs), share);
    const Box3 box = bounds(mine);
    const Box3 other = bounds(theirs);
    const double slack = share * box.diagonal().norm();
    CHECK((box.min() - other.min()).norm() <= slack);
    CHECK((box.max() - other.max()).norm() <= slack);
}

// ---- 3MF ----

struct Release {
    void operator()(void* instance) const {
        NMR::lib3mf_release(static_cast<NMR::PLib3MFBase*>(instance));
    }
};
using Instance = std::unique_ptr<void, Release>;

struct ReadByLib3mf {
    TriMesh mesh;  // in the file's own unit
    double unit_mm = 0.0;
};

ReadByLib3mf read_by_lib3mf(const std::string& bytes) {
    using namespace NMR;
    PLib3MFModel* model = nullptr;
    REQUIRE(lib3mf_createmodel(&model) == 0);
    const Instance keep_model(model);
    PLib3MFModelReader* reader = nullptr;
    REQUIRE(lib3mf_model_queryreader(model, "3mf", &reader) == 0);
    const Instance keep_reader(reader);
    std::string copy = bytes;  // it wants to be able to write
    REQUIRE(lib3mf_reader_readfrombuffer(reader, reinterpret_cast<BYTE*>(copy.data()),
                                         copy.size()) == 0);
    DWORD unit = 0;
    REQUIRE(lib3mf_model_getunit(model, &unit) == 0);
    static const std::map<DWORD, double> kUnits = {
        {MODELUNIT_MICROMETER, 0.001}, {MODELUNIT_MILLIMETER, 1.0}, {MODELUNIT_CENTIMETER, 10.0},
        {MODELUNIT_INCH, 25.4},        {MODELUNIT_FOOT, 304.8},     {MODELUNIT_METER, 1000.0}};
    ReadByLib3mf result;
    result.unit_mm = kUnits.at(unit);
    PLib3MFModel* merged = nullptr;
    REQUIRE(lib3mf_model_mergetomodel(model, &merged) == 0);
    const Instance keep_merged(merged);
    PLib3MFModelResourceIterator* meshes = nullptr;
    REQUIRE(lib3mf_model_getmeshobjects(merged, &meshes) == 0);
    const Instance keep_meshes(meshes);
    BOOL more = 0;
    while (lib3mf_resourceiterator_movenext(meshes, &more) == 0 && more != 0) {
        PLib3MFModelResource* object = nullptr;
        REQUIRE(lib3mf_resourceiterator_getcurrent(meshes, &object) == 0);
        const Instance keep_object(object);
        DWORD vertices = 0;
        DWORD triangles = 0;
        REQUIRE(lib3mf_meshobject_getvertexcount(object, &vertices) == 0);
        REQUIRE(lib3mf_meshobject_gettrianglecount(object, &triangles) == 0);
        TriMesh mesh;
        for (DWORD v = 0; v < vertices; ++v) {
            MODELMESHVERTEX p{};
            REQUIRE(lib3mf_meshobject_getvertex(object, v, &p) == 0);
            mesh.vertices.emplace_back(p.m_fPosition[0], p.m_fPosition[1], p.m_fPosition[2]);
        }
        for (DWORD t = 0; t < triangles; ++t) {
            MODELMESHTRIANGLE c{};
            REQUIRE(lib3mf_meshobject_gettriangle(object, t, &c) == 0);
            mesh.triangles.push_back({static_cast<std::int32_t>(c.m_nIndices[0]),
                                      static_cast<std::int32_t>(c.m_nIndices[1]),
                                      static_cast<std::int32_t>(c.m_nIndices[2])});
        }
        result.mesh = joined(std::move(result.mesh), mesh);
    }
    return result;
}

// Two objects, a component of both, nested and turned, and several items. Nothing is mirrored:
// lib3mf does not turn the faces of what is.
std::string nested_threemf() {
    const std::string model =
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"centimeter\" "
        "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources>"
        "<object id=\"1\" type=\"model\">" +
        threemf_mesh(box_solid(2, 3, 4).mesh) + "</object><object id=\"2\" type=\"model\">" +
        threemf_mesh(sphere_solid(1.5, 16).mesh) +
        "</object><object id=\"3\" type=\"model\"><components>"
        "<component objectid=\"1\"/>"
        "<component objectid=\"2\" transform=\"1 0 0 0 1 0 0 0 1 5 0 0\"/></components></object>"
        "<object id=\"4\" type=\"model\"><components>"
        "<component objectid=\"3\" transform=\"0 1 0 -1 0 0 0 0 1 0 0 10\"/>"
        "<component objectid=\"3\" transform=\"-1 0 0 0 -1 0 0 0 1 -8 0 0\"/></components></object>"
        "</resources><build><item objectid=\"4\"/>"
        "<item objectid=\"4\" transform=\"2 0 0 0 2 0 0 0 2 30 0 0\"/>"
        "<item objectid=\"1\" transform=\"0.6 0.8 0 -0.8 0.6 0 0 0 1 0 40 0\"/></build></model>";
    return threemf_package({{"3D/3dmodel.model", model}}, true);
}

// ---- glTF ----

using Transform = Eigen::Affine3d;

Transform transform_of(const tinygltf::Node& node) {
    Transform result = Transform::Identity();
    if (!node.matrix.empty()) {
        for (int i = 0; i < 16; ++i) {  // by columns
            result.matrix()(i % 4, i / 4) = node.matrix[static_cast<std::size_t>(i)];
        }
        return result;
    }
    if (!node.translation.empty()) {
        result.translate(Vec3(node.translation[0], node.translation[1], node.translation[2]));
    }
    if (!node.rotation.empty()) {
        const std::vector<double>& q = node.rotation;
        result.rotate(Eigen::Quaterniond(q[3], q[0], q[1], q[2]).normalized());
    }
    if (!node.scale.empty()) {
        result.scale(Vec3(node.scale[0], node.scale[1], node.scale[2]));
    }
    return result;
}

template <class Number>
Number number_at(const tinygltf::Model& model, const tinygltf::Accessor& accessor, std::size_t i,
                 std::size_t k) {
    const tinygltf::BufferView& view =
        model.bufferViews[static_cast<std::size_t>(accessor.bufferView)];
    const auto stride = static_cast<std::size_t>(accessor.ByteStride(view));
    const auto& data = model.buffers[static_cast<std::size_t>(view.buffer)].data;
    Number value{};
    std::memcpy(&value,
                data.data() + view.byteOffset + accessor.byteOffset + i * stride + k * sizeof value,
                sizeof value);
    return value;
}

std::int32_t index_at(const tinygltf::Model& model, const tinygltf::Accessor& accessor,
                      std::size_t i) {
    switch (accessor.componentType) {
        case TINYGLTF_COMPONENT_TYPE_UNSIGNED_BYTE:
            return number_at<std::uint8_t>(model, accessor, i, 0);
        case TINYGLTF_COMPONENT_TYPE_UNSIGNED_SHORT:
            return number_at<std::uint16_t>(model, accessor, i, 0);
        default:
            return static_cast<std::int32_t>(number_at<std::uint32_t>(model, accessor, i, 0));
    }
}

void add_node(const tinygltf::Model& model, int number, const Transform& above, TriMesh& mesh) {
    const tinygltf::Node& node = model.nodes[static_cast<std::size_t>(number)];
    const Transform here = above * transform_of(node);
    if (node.mesh >= 0) {
        for (const tinygltf::Primitive& primitive :
             model.meshes[static_cast<std::size_t>(node.mesh)].primitives) {
            REQUIRE(primitive.mode == TINYGLTF_MODE_TRIANGLES);
            const tinygltf::Accessor& position =
                model.accessors[static_cast<std::size_t>(primitive.attributes.at("POSITION"))];
            TriMesh one;
            for (std::size_t i = 0; i < position.count; ++i) {
                one.vertices.emplace_back(here * Vec3(number_at<float>(model, position, i, 0),
                                                      number_at<float>(model, position, i, 1),
                                                      number_at<float>(model, position, i, 2)));
            }
            const tinygltf::Accessor& indices =
                model.accessors[static_cast<std::size_t>(primitive.indices)];
            for (std::size_t i = 0; i + 2 < indices.count; i += 3) {
                one.triangles.push_back({index_at(model, indices, i),
                                         index_at(model, indices, i + 1),
                                         index_at(model, indices, i + 2)});
            }
            // A mirrored node's faces are turned over (section 3.7.4).
            mesh = joined(std::move(mesh),
                          here.linear().determinant() < 0.0 ? flipped(std::move(one)) : one);
        }
    }
    for (const int child : node.children) {
        add_node(model, child, here, mesh);
    }
}

// Meters, y up, as the format has it.
TriMesh read_by_tinygltf(const std::string& bytes) {
    tinygltf::TinyGLTF reader;
    tinygltf::Model model;
    std::string error;
    std::string warning;
    const bool read = reader.LoadBinaryFromMemory(
        &model, &error, &warning, reinterpret_cast<const unsigned char*>(bytes.data()),
        static_cast<unsigned int>(bytes.size()));
    INFO(error);
    REQUIRE(read);
    std::vector<bool> is_child(model.nodes.size(), false);
    for (const tinygltf::Node& node : model.nodes) {
        for (const int child : node.children) {
            is_child[static_cast<std::size_t>(child)] = true;
        }
    }
    TriMesh mesh;
    for (std::size_t i = 0; i < model.nodes.size(); ++i) {
        if (!is_child[i]) {
            add_node(model, static_cast<int>(i), Transform::Identity(), mesh);
        }
    }
    return mesh;
}

TriMesh turned_z_up(TriMesh mesh) {
    for (Vec3& v : mesh.vertices) {
        v = Vec3(v.x(), -v.z(), v.y());
    }
    return mesh;
}

Gltf nested_gltf() {
    Gltf g;
    const TriMesh ball = sphere_solid(0.3, 16).mesh;
    const TriMesh box = box_solid(0.2, 0.5, 0.9).mesh;
    const int balls =
        g.mesh(g.positions(ball), g.indices<std::uint16_t>(Gltf::corners(ball), 5123));
    const int boxes = g.mesh(g.positions(box), g.indices<std::uint8_t>(Gltf::corners(box), 5121));
    g.node({{"mesh", boxes}, {"translation", {1.0, 2.0, 3.0}}, {"children", {1, 2}}});
    g.node({{"mesh", balls}, {"rotation", {0.5, 0.5, 0.5, 0.5}}, {"scale", {1.0, 2.0, 3.0}}});
    g.node({{"mesh", boxes}, {"matrix", {-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 4, 0, 0, 1}}});
    return g;
}

}  // namespace

TEST_CASE("3MF as lib3mf reads it: units, items, components nested and turned") {
    const TriMesh ball = sphere_solid(20, 24).mesh;
    const std::vector<std::string> files = {
        threemf_of(ball, "millimeter"),
        threemf_of(ball, "inch", {"", "0.5 0 0 0 0.5 0 0 0 0.5 70 0 0"}),
        threemf_of(ball, "micron"),
        threemf_of(ball, "foot", {"1 0 0 0 0 1 0 -1 0 5 6 7"}, false),
        threemf_of(ball, ""),
        nested_threemf(),
    };
    for (std::size_t i = 0; i < files.size(); ++i) {
        CAPTURE(i);
        const Soup mine = parse_threemf(files[i], "the part");
        const ReadByLib3mf theirs = read_by_lib3mf(files[i]);
        CHECK_NEAR(mine.unit_mm.value_or(0.0), theirs.unit_mm, 1e-12);
        check_same(mine.mesh, theirs.mesh, 1e-6);  // single precision
    }
}

TEST_CASE("GLB as tinygltf reads it: our own files, nodes nested, turned, scaled and mirrored") {
    const TriMesh torus = torus_solid(50, 15, 48).mesh;
    const std::vector<std::string> files = {glb_bytes(torus), gltf_of(torus).glb(),
                                            nested_gltf().glb()};
    for (std::size_t i = 0; i < files.size(); ++i) {
        CAPTURE(i);
        const auto mine = parse_gltf(files[i], ".", "the part");
        REQUIRE(mine.has_value());
        check_same(mine->mesh, turned_z_up(read_by_tinygltf(files[i])), 1e-9);
    }
}
