// SPDX-License-Identifier: GPL-3.0-or-later
// Expected readings follow the 3MF Core Specification 1.3 (units, object types, transforms, build)
// and the 3MF Production Extension 1.1.2 (objects in other parts of the package).
#include "cavigram/io/threemf_reader.h"

#include <set>

#include <fmt/core.h>

#include "cavigram/geom/vector.h"
#include "cavigram/io/assimp_reader_detail.h"
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

const TriMesh& box() {
    static const TriMesh mesh = box_solid(2, 3, 4).mesh;  // volume 24
    return mesh;
}

constexpr const char* kModel =
    "<model unit=\"{}\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" "
    "xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\" "
    "xmlns:v=\"http://vendor.example/x\" {}>";

std::string model_of(const std::string& resources, const std::string& build,
                     const char* unit = "millimeter", const char* more = "") {
    return fmt::format(kModel, unit, more) + "<resources>" + resources + "</resources><build>" +
           build + "</build></model>";
}

std::string object_of(int id, const TriMesh& mesh, const std::string& type = "model") {
    return fmt::format("<object id=\"{}\" type=\"{}\">", id, type) + threemf_mesh(mesh) +
           "</object>";
}

Soup read(const std::string& resources, const std::string& build, const char* unit = "millimeter",
          const char* more = "") {
    return parse_threemf(
        threemf_package({{"3D/3dmodel.model", model_of(resources, build, unit, more)}}), "a.3mf");
}

std::string refused(const std::string& resources, const std::string& build, const char* more = "") {
    const std::string text = refusal([&] { return read(resources, build, "millimeter", more); });
    check_sentence(text);
    return text;
}

bool says(const std::string& text, std::string_view what) {
    return text.find(what) != std::string::npos;
}

}  // namespace

TEST_CASE("3MF: one object, its unit, and numbers as doubles") {
    for (const bool deflated : {true, false}) {
        const Soup soup = parse_threemf(threemf_of(box(), "inch", {""}, deflated));
        CHECK(keeps_promises(soup));
        CHECK(soup.format == "3mf");
        CHECK(soup.unit_mm == 25.4);
        CHECK(soup.mesh.triangles.size() == 12);
        CHECK_NEAR(plain_volume(soup.mesh), 24.0, 1e-14);
        CHECK(soup.findings.empty());
    }
    CHECK(parse_threemf(threemf_of(box(), "")).unit_mm == 1.0);
    CHECK_FALSE(parse_threemf(threemf_of(box(), "cubit")).unit_mm.has_value());
    TriMesh far = box();
    for (Vec3& v : far.vertices) {
        v += Vec3::Constant(5.0e6 + 0.125);
    }
    CHECK_NEAR(plain_volume(parse_threemf(threemf_of(far)).mesh), 24.0, 1e-12);
}

TEST_CASE("3MF: items and components with transforms, nested and mirrored") {
    // Object 3 is two of object 2 (one doubled: 8 x 24), which is object 1 moved and mirrored.
    const std::string resources =
        object_of(1, box()) +
        "<object id=\"2\"><components><component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 10 "
        "0 "
        "0\"/></components></object>"
        "<object id=\"3\"><components><component objectid=\"2\"/><component objectid=\"2\" "
        "transform=\"2 0 0 0 2 0 0 0 2 100 0 0\"/></components></object>";
    const Soup soup = read(resources,
                           "<item objectid=\"3\" transform=\"0 1 0 -1 0 0 0 0 1 0 0 7\"/><item "
                           "objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 0 0 50\"/>");
    CHECK(soup.mesh.triangles.size() == 36);
    CHECK_NEAR(plain_volume(soup.mesh), 24.0 + 8.0 * 24.0 + 24.0, 1e-13);
    // The item's matrix sends (x, y) to (-y, x): the doubled box, x from 116 to 120, stands at y
    // from 116 to 120.
    const Box3 around = bounds(soup.mesh);
    CHECK_NEAR(around.max().y(), 120.0, 1e-14);
    CHECK_NEAR(around.min().x(), -6.0, 1e-14);
    CHECK_NEAR(around.max().z(), 54.0, 1e-14);
    CHECK_NEAR(around.min().z(), 7.0, 1e-14);
}

TEST_CASE("3MF: plain files agree with Assimp's reader, which keeps float32") {
    const std::string bytes = threemf_of(torus_solid(30, 10, 24).mesh, "millimeter",
                                         {"1 0 0 0 1 0 0 0 1 100 0 0", "2 0 0 0 2 0 0 0 2 0 50 0"});
    const Soup ours = parse_threemf(bytes);
    const Soup other = read_with_assimp(bytes, *format_of(bytes, ".3mf"), ".", "a.3mf");
    CHECK(ours.mesh.triangles.size() == other.mesh.triangles.size());
    CHECK_NEAR(plain_volume(ours.mesh), plain_volume(other.mesh), 1e-6);
    CHECK_NEAR(plain_volume(ours.mesh), 9.0 * torus_solid(30, 10, 24).volume_mm3, 1e-13);
}

TEST_CASE("3MF: objects in other parts of the package") {
    const std::string child = model_of(object_of(4, box()), "<item objectid=\"99\"/>");
    const std::string assembled = model_of(
        "<object id=\"8\" p:UUID=\"0\"><components><component p:path=\"/3D/Objects/a.model\" "
        "objectid=\"4\" transform=\"1 0 0 0 1 0 0 0 1 5 0 0\"/></components></object>",
        "<item objectid=\"8\"/><item p:path=\"3d/objects/A.model\" objectid=\"4\"/>", "millimeter",
        "requiredextensions=\"p\"");
    const Soup soup = parse_threemf(
        threemf_package({{"3D/3dmodel.model", assembled}, {"3D/Objects/a.model", child}}));
    CHECK(soup.mesh.triangles.size() == 24);
    CHECK_NEAR(plain_volume(soup.mesh), 48.0, 1e-14);
    CHECK_NEAR(bounds(soup.mesh).max().x(), 7.0, 1e-14);
    CHECK(soup.findings.empty());
    // The child's own unit holds for its own numbers.
    const std::string inches = model_of(object_of(4, box()), "", "inch");
    const Soup mixed = parse_threemf(
        threemf_package({{"3D/3dmodel.model", assembled}, {"3D/Objects/a.model", inches}}));
    CHECK_NEAR(plain_volume(mixed.mesh), 48.0 * 25.4 * 25.4 * 25.4, 1e-13);
    CHECK_NEAR(bounds(mixed.mesh).max().x(), 5.0 + 2.0 * 25.4, 1e-14);
    CHECK(has_finding(mixed, "units_differ"));
    // A part that is not there, one that leads on to a third, and one on the disk.
    const auto with_child = [&](const std::string& text) {
        return refusal([&] {
            return parse_threemf(
                threemf_package({{"3D/3dmodel.model", assembled}, {"3D/Objects/a.model", text}}),
                "a.3mf");
        });
    };
    const std::string missing = refusal([&] {
        return parse_threemf(threemf_package({{"3D/3dmodel.model", assembled}}), "a.3mf");
    });
    check_sentence(missing);
    CHECK(says(missing, "/3D/Objects/a.model"));
    const std::string onward = with_child(model_of(
        "<object id=\"4\"><components><component p:path=\"/3D/3dmodel.model\" objectid=\"8\"/>"
        "</components></object>",
        ""));
    check_sentence(onward);
    CHECK(says(onward, "names an object of another part"));
    check_sentence(with_child(model_of(object_of(5, box()), "")));
    CHECK(says(with_child("<other/>"), "is no 3MF model"));
    CHECK(says(refused("", "<item p:path=\"/../../etc/passwd\" objectid=\"1\"/>"),
               "does not hold it"));
}

TEST_CASE("3MF: supports, other objects and what is not printed are left out") {
    const std::string resources = object_of(1, box()) + object_of(2, box(), "support") +
                                  object_of(3, box(), "other") +
                                  object_of(4, box(), "solidsupport") +
                                  "<object id=\"5\"><components><component objectid=\"1\"/>"
                                  "<component objectid=\"2\"/><component objectid=\"3\"/>"
                                  "<component objectid=\"4\"/></components></object>";
    const Soup soup =
        read(resources,
             "<item objectid=\"5\"/><item objectid=\"1\" printable=\"0\"/><item objectid=\"1\" "
             "printable=\"1\" transform=\"1 0 0 0 1 0 0 0 1 9 0 0\"/>");
    CHECK(soup.mesh.triangles.size() == 24);
    CHECK_NEAR(plain_volume(soup.mesh), 48.0, 1e-14);
    CHECK(has_finding(soup, "not_printed_left_out"));
    refused(resources, "<item objectid=\"2\"/>");
    CHECK(says(refused(resources, ""), "nothing to print"));
}

TEST_CASE("3MF: a triangle that names a corner twice costs only itself") {
    std::string resources = object_of(1, box());
    resources.replace(resources.find("</triangles>"), 12,
                      "<triangle v1=\"3\" v2=\"3\" v3=\"1\"/></triangles>"
                      "<v:sets><v:set v:name=\"x\"/></v:sets>");
    const Soup soup = read(resources, "<item objectid=\"1\"/>");
    CHECK(soup.mesh.triangles.size() == 12);
    CHECK(has_finding(soup, "triangles_without_area"));
}

TEST_CASE(
    "3MF: extensions that must be known are refused by name; unknown other ones do not matter") {
    const std::string one = object_of(1, box());
    const char* const item = "<item objectid=\"1\"/>";
    CHECK(read(one, item, "millimeter", "requiredextensions=\"p p\"").mesh.triangles.size() == 12);
    CHECK(read("<v:thing><object id=\"1\"/></v:thing>" + one, item).mesh.triangles.size() == 12);
    CHECK(says(refused(one, item, "requiredextensions=\"p v\""), "http://vendor.example/x"));
    CHECK(says(refused(one, item, "requiredextensions=\"undeclared\""), "undeclared"));
    const std::string beams =
        "xmlns:b=\"http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02\"";
    std::string lattice = one;
    lattice.insert(lattice.find("</mesh>"), "<b:beamlattice><b:beams/></b:beamlattice>");
    CHECK(has_finding(read(lattice, item, "millimeter", beams.c_str()), "beams_left_out"));
    CHECK(says(refused(one, item, (beams + " requiredextensions=\"b\"").c_str()), "beamlattice"));
    CHECK(says(refused("<object id=\"1\" p:modelresolution=\"lowres\">" + threemf_mesh(box()) +
                           "</object>",
                       item),
               "full resolution"));
}

TEST_CASE("3MF: wrong text is refused with its line, each with its own sentence") {
    const std::string one = object_of(1, box());
    const char* const item = "<item objectid=\"1\"/>";
    const auto swapped = [&](const std::string& from, const std::string& to) {
        std::string text = one;
        const std::size_t at = text.find(from);
        REQUIRE(at != std::string::npos);
        return text.replace(at, from.size(), to);
    };
    std::set<std::string> seen;
    for (const std::string& resources :
         {swapped("x=\"0\"", "x=\"zero\""), swapped("x=\"2\"", "x=\"2,5\""),
          swapped("x=\"0\" ", ""), swapped("v1=\"0\"", "v1=\"8\""),
          swapped("v1=\"0\"", "v1=\"-1\""), swapped("v1=\"0\"", "v1=\"0.5\""),
          swapped("v1=\"0\" ", ""), one + one, std::string("<object/>"),
          std::string("<vertex x=\"0\" y=\"0\" z=\"0\"/>"),
          std::string("<object id=\"1\"><object id=\"2\"/></object>"),
          std::string("<object id=\"1\"></objekt>")}) {
        CAPTURE(resources.substr(0, 200));
        const std::string text = refused(resources, item);
        CHECK(says(text, "line "));
        seen.insert(text);
    }
    CHECK(seen.size() >= 9);
    CHECK(says(refused(one, "<item objectid=\"1\" transform=\"1 0 0\"/>"), "twelve numbers"));
    CHECK(says(refused(one, "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 0 0 0 0\"/>"),
               "twelve numbers"));
    CHECK(says(refused(one, "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 nan 0 0 0\"/>"),
               "twelve numbers"));
    CHECK(says(refused(one, "<item objectid=\"7\"/>"), "object 7"));
    CHECK(says(refused("", "<item objectid=\"1\"/>"), "object 1"));
    // Cut within the build, where what stands before is whole.
    const std::string whole = model_of(one, item);
    for (const std::size_t cut : {9, 20, 200}) {
        const std::string text = refusal([&] {
            return parse_threemf(
                threemf_package({{"3D/3dmodel.model", whole.substr(0, whole.size() - cut)}}),
                "a.3mf");
        });
        check_sentence(text);
        CHECK(says(text, "no sound XML"));
    }
    check_sentence(refusal([&] { return parse_threemf(zip_of({{"a.txt", "x"}}), "a.3mf"); }));
    check_sentence(refusal([&] { return parse_threemf("PK\x03\x04 and no more", "a.3mf"); }));
}

TEST_CASE("3MF: circles, endless copies, bombs and document types are bounded before they happen") {
    const char* const item = "<item objectid=\"1\"/>";
    const auto made_of = [](int id, int part) {
        return fmt::format(
            "<object id=\"{}\"><components><component objectid=\"{}\"/>"
            "<component objectid=\"{}\"/></components></object>",
            id, part, part);
    };
    CHECK(says(refused(made_of(1, 2) + made_of(2, 1), item), "in a circle"));
    CHECK(says(refused(made_of(1, 1), item), "in a circle"));
    std::string doubled;
    std::string empty;
    for (int id = 1; id < 64; ++id) {
        doubled += made_of(id, id + 1);
    }
    CHECK(says(refused(doubled + object_of(64, box()), item), "with all its copies"));
    refused(doubled + "<object id=\"64\"/>", item);  // 2^63 copies of nothing
    std::string deep;
    for (int id = 1; id < 100'000; ++id) {
        deep += fmt::format(
            "<object id=\"{}\"><components><component objectid=\"{}\"/></components></object>", id,
            id + 1);
    }
    CHECK(says(refused(deep + object_of(100'000, box()), item), "nested too deep"));
    // 300 MB of blanks pack to 300 kB; a tag that never ends is another way to fill the memory.
    const std::string blanks(std::size_t{300} << 20, ' ');
    const std::string bomb = model_of(object_of(1, box()), blanks + item);
    CHECK(says(refusal([&] {
                   return parse_threemf(threemf_package({{"3D/3dmodel.model", bomb}}), "a.3mf");
               }),
               "unpacks to far more"));
    const std::string tag = model_of(
        "<object id=\"1\" name=\"" + std::string(std::size_t{8} << 20, 'x') + "\"/>", item);
    CHECK(says(refusal([&] {
                   return parse_threemf(threemf_package({{"3D/3dmodel.model", tag}}), "a.3mf");
               }),
               "longer than 1 MiB"));
    const std::string laughs =
        "<!DOCTYPE m [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]>" +
        model_of(object_of(1, box()), item);
    CHECK(says(refusal([&] {
                   return parse_threemf(threemf_package({{"3D/3dmodel.model", laughs}}), "a.3mf");
               }),
               "document type"));
}

TEST_CASE("3MF: an encrypted part is told as such") {
    // The lowest bit of an entry's flags (PKWARE's APPNOTE 4.4.4), in both of its headers.
    std::string bytes = threemf_of(box(), "inch", {""}, false);
    for (const auto& [mark, flags] : {std::pair("PK\x03\x04", 6), std::pair("PK\x01\x02", 8)}) {
        const std::size_t at = bytes.rfind(mark);
        REQUIRE(at != std::string::npos);
        bytes[at + static_cast<std::size_t>(flags)] = 1;
    }
    const std::string text = refusal([&] { return parse_threemf(bytes, "a.3mf"); });
    check_sentence(text);
    CHECK(says(text, "3dmodel.model is encrypted"));
}

TEST_CASE("3MF: a damaged archive is a sentence or a sound soup, wherever it is cut or changed") {
    const std::string good = threemf_of(box(), "inch");
    const auto survives = [](const std::string& bytes) {
        try {
            const Soup soup = parse_threemf(bytes, "a.3mf");
            CHECK(keeps_promises(soup));
        } catch (const UnusableInput& error) {
            check_sentence(error.what());
        }
    };
    for (std::size_t size = 0; size < good.size(); size += 3) {
        survives(good.substr(0, size));
    }
    for (std::size_t at = 0; at < good.size(); ++at) {
        std::string bad = good;
        bad[at] = static_cast<char>(bad[at] ^ (at % 2 == 0 ? '\xFF' : '\x04'));
        survives(bad);
    }
}
