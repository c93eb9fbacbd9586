// SPDX-License-Identifier: GPL-3.0-or-later
// Expected readings follow the format's description, "Object Files (.obj)", appendix B1 of its
// maker's manual.
#include "cavigram/io/obj_reader.h"

#include <set>

#include <fmt/core.h>

#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

const std::string kCubeVertices =
    "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1\nv 0 1 1\n";

void check_is_cube(const Soup& soup) {
    CHECK(keeps_promises(soup));
    CHECK(soup.mesh.triangles.size() == 12);
    CHECK_NEAR(plain_volume(soup.mesh), 1.0, 1e-15);
    CHECK_NEAR(plain_area(soup.mesh), 6.0, 1e-15);
}

}  // namespace

TEST_CASE("OBJ: indices from the beginning, from the end, with slashes, ahead of their vertices") {
    const std::string quads = "f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";
    check_is_cube(parse_obj(kCubeVertices + quads));
    check_is_cube(parse_obj(quads + kCubeVertices));
    check_is_cube(
        parse_obj("mtllib none.mtl\no part\n" + kCubeVertices +
                  "vt 0 0\nvn 0 0 1\ns off\nusemtl red\ng side\n"
                  "f 4/1/1 3/1/1 2/1/1 1/1/1\nf 5//1 6//1 7//1 8//1\nf 1/1 2/1 6/1 5/1 # four\n"
                  "f -7 -6 -2 -3\nfo 3 4 8 7\nf 4 1 \\\n 5 8\nl 1 2\np 1\n"));
    std::string crlf;
    for (const char c : "# \xC3\xA9\n" + kCubeVertices + quads) {
        crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
    }
    check_is_cube(parse_obj("\xEF\xBB\xBF" + crlf));
    // Weights or colors behind the three numbers do not matter.
    std::string colored = kCubeVertices;
    for (std::size_t at = colored.find('\n'); at != std::string::npos;
         at = colored.find('\n', at + 10)) {
        colored.insert(at, " 0.5 1 0 ");
    }
    check_is_cube(parse_obj(colored + quads));
}

TEST_CASE("OBJ: doubles; far from the origin the volume keeps twelve digits") {
    // A float32 steps by 0.5 at 6e6.
    TriMesh far = torus_solid(3000, 1000, 24).mesh;
    for (Vec3& v : far.vertices) {
        v = v.array().round().matrix();
    }
    const double volume = plain_volume(far);
    std::string text;
    for (const Vec3& v : far.vertices) {
        text += fmt::format("v {:.3f} {:.3f} {:.3f}\n", v[0] + 4.0e6 + 0.125, v[1] + 6.0e6 + 0.125,
                            v[2] - 5.0e6 + 0.125);
    }
    for (const Triangle& t : far.triangles) {
        text += fmt::format("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    const Soup soup = parse_obj(text);
    CHECK_NEAR(plain_volume(soup.mesh), volume, 1e-12);
    CHECK_FALSE(has_finding(soup, "coordinates_coarse"));
    // Nine digits or fewer may have been float32, and then the step matters.
    const Soup coarse = parse_obj("v 6000000 0 0\nv 6000001 0 0\nv 6000000 1 0\nf 1 2 3\n");
    CHECK(has_finding(coarse, "coordinates_coarse"));
}

TEST_CASE("OBJ: what is wrong is said with its line") {
    const std::string v = "v 0 0 0\nv 1 0 0\nv 0 1 0\n";
    std::set<std::string> seen;
    for (const std::string& text :
         {v + "f 1 2 4\n", v + "f 1 2 -4\n", v + "f 0 1 2\n", v + "f 1 2 x\n", v + "f 1 2 3.5\n",
          v + "f 1 2 99999999999\n", v + "f 1,2,3\n", std::string("v 0 0\nf 1 1 1\n"),
          std::string("v 0 0,5 0\nf 1 1 1\n"), std::string("v a b c\nf 1 1 1\n")}) {
        CAPTURE(text);
        const std::string sentence = refusal([&] { return parse_obj(text, "a.obj"); });
        check_sentence(sentence);
        CHECK(sentence.find("line ") != std::string::npos);
        seen.insert(sentence);
    }
    CHECK(seen.size() >= 4);
    CHECK(refusal([&] {
              return parse_obj("v 0 0 0\ncstype bezier\nsurf 0 1 0 1 1\nend\n", "a.obj");
          }).find("free-form") != std::string::npos);
    check_sentence(refusal([&] { return parse_obj(v, "a.obj"); }));
    check_sentence(refusal([&] { return parse_obj("", "a.obj"); }));
    const Soup nan = parse_obj(v + "v nan 0 0\nf 1 2 3\nf 1 2 4\n");
    CHECK(nan.dropped_nonfinite == 1);
}
