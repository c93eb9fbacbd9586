// SPDX-License-Identifier: GPL-3.0-or-later
// Every place that a finding, a step, a fault or a refusal names lies within the part, in its own
// coordinates after scaling: in millimeters, turned as the part is turned, far from the origin,
// too.
#include <functional>
#include <regex>
#include <set>
#include <string>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/plan/prepare.h"

#include "support/damage.h"
#include "support/near.h"
#include "support/sanitized.h"

using namespace cavigram;

namespace {

using Change = std::function<void(PartRequest&)>;

struct Recipe {
    const char* name;
    TriMesh mesh;
    Change change = [](PartRequest&) {};
};

// Sound solids harmed so that all kinds of findings and refusals with places come up. Units are the
// file's; the solids are some 80 of them across.
std::vector<Recipe> recipes() {
    const TriMesh torus = torus_solid(30, 10, 48).mesh;
    const TriMesh sphere = sphere_solid(40, 48).mesh;
    const auto above = [](double z) { return [z](const Vec3& p) { return p.z() > z; }; };
    const auto both = [](const TriMesh& a, const TriMesh& b) { return joined(a, b); };
    std::vector<Recipe> list;
    list.push_back({"sound", torus});
    list.push_back({"a hole", damage::holed(sphere, above(36.0))});
    list.push_back({"a hole larger than allowed", damage::holed(sphere, above(30.0)),
                    [](PartRequest& r) { r.mend.largest_hole_mm = 2.0; }});
    list.push_back({"a hole with gentle mending", damage::holed(sphere, above(30.0)),
                    [](PartRequest& r) { r.mend.level = MendLevel::gentle; }});
    list.push_back({"half of it missing", damage::holed(sphere, above(0.0))});
    list.push_back({"most of it missing", damage::holed(sphere, above(-30.0))});
    list.push_back({"turned faces", damage::part_flipped(torus, above(3.0))});
    list.push_back({"cracks", damage::cracked(torus, 1e-5, 7)});
    list.push_back({"crossing solids", both(torus, transformed(torus, 1.0, Vec3(25.0, 0.0, 4.0)))});
    list.push_back({"a small piece beside it",
                    both(sphere, transformed(sphere, 0.002, Vec3(60.0, 0.0, 0.0)))});
    list.push_back({"a hollow", both(sphere, flipped(transformed(sphere, 0.5, Vec3::Zero())))});
    list.push_back({"a hollow that breaks through",
                    both(sphere, flipped(transformed(sphere, 0.5, Vec3(25.0, 0.0, 0.0))))});
    list.push_back({"a hole, mending off", damage::holed(sphere, above(36.0)),
                    [](PartRequest& r) { r.mend.level = MendLevel::off; }});
    list.push_back({"a wrap", torus, [](PartRequest& r) { r.mend.wrap = true; }});
    return list;
}

// As OBJ with all digits.
std::string obj_bytes(const TriMesh& mesh) {
    std::string text;
    for (const Vec3& v : mesh.vertices) {
        text += fmt::format("v {:.17g} {:.17g} {:.17g}\n", v[0], v[1], v[2]);
    }
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    return text;
}

bool within(const Box3& box, const Vec3& p, double slack) {
    return ((p - box.min()).array() >= -slack).all() && ((box.max() - p).array() >= -slack).all();
}

// Checks the places of one part; gives how many there were.
std::size_t check_places(const PartRequest& request, const Box3& box) {
    const double exact = 1e-9 * box.diagonal().norm();
    std::size_t places = 0;
    const auto check = [&](const auto& list) {
        for (const auto& p : list) {
            INFO(p[0], " ", p[1], " ", p[2]);
            CHECK(within(box, Vec3(p[0], p[1], p[2]), exact));
            ++places;
        }
    };
    // Places in words have tenths of a millimeter.
    const auto check_text = [&](const std::string& text) {
        static const std::regex place(R"(x ([-+.e0-9]+), y ([-+.e0-9]+), z ([-+.e0-9]+) mm)");
        for (std::sregex_iterator at(text.begin(), text.end(), place), end; at != end; ++at) {
            INFO(text);
            CHECK(within(box, Vec3(std::stod((*at)[1]), std::stod((*at)[2]), std::stod((*at)[3])),
                         0.06));
            ++places;
        }
    };
    try {
        const PreparedPart prepared = prepare_part(request);
        for (const Finding& finding : prepared.findings) {
            INFO(finding.text);
            check(finding.at_mm);
            check_text(rendered(finding.text));
        }
        for (const RepairStep& step : prepared.part.steps()) {
            check(step.places_mm);
        }
        for (const Fault& fault : prepared.part.faults()) {
            check(fault.places_mm);
        }
    } catch (const UnusableInput& error) {
        check_text(error.what());
    }
    return places;
}

}  // namespace

TEST_CASE("every place lies within the part, in its own coordinates") {
    const std::filesystem::path path =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_places_{}", getpid());
    std::size_t all = 0;
    for (const Recipe& recipe : recipes()) {
        for (const double far : {0.0, 1234567.0}) {
            for (const char* unit : {"mm", "in"}) {
                // Far away in inches is where both count.
                if (!goes_through_all() && (far == 0.0 || unit == std::string("mm"))) {
                    continue;
                }
                CAPTURE(recipe.name);
                CAPTURE(far);
                CAPTURE(unit);
                const TriMesh moved =
                    transformed(recipe.mesh, 1.0, Vec3(far, -3.0 * far, 2.0 * far));
                write_file(path, obj_bytes(moved));
                PartRequest request;
                request.file = path;
                request.units = parse_length_unit(unit);
                recipe.change(request);
                all += check_places(request,
                                    bounds(transformed(moved, request.units->mm, Vec3::Zero())));
            }
        }
        // glTF is in meters and turned: (x, y, z) of the part is written so that it comes back.
        CAPTURE(recipe.name);
        write_file(path, glb_bytes(recipe.mesh));
        PartRequest request;
        request.file = path;
        recipe.change(request);
        Box3 box = bounds(recipe.mesh);
        box.min().array() -= 1e-5;  // float32
        box.max().array() += 1e-5;
        all += check_places(request, box);
    }
    std::filesystem::remove(path);
    CHECK(all >= (goes_through_all() ? 60 : 20));
}
