// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/unite.h"

#include <algorithm>
#include <map>

#include "cavigram/mesh/union_find.h"
#include "cavigram/repair/arrangement.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

// Shells that cross each other or themselves.
struct Group {
    std::vector<std::size_t> shells;
    Vec3 place = Vec3::Zero();
};

std::vector<Group> crossing_groups(const TriMesh& mesh, const Shells& shells,
                                   const std::vector<CrossingPair>& pairs) {
    const auto shell_of = [&](std::int32_t t) {
        return shells.of_triangle[static_cast<std::size_t>(t)];
    };
    UnionFind sets(static_cast<std::size_t>(shells.count));
    std::vector<bool> crosses(sets.size(), false);
    for (const CrossingPair& pair : pairs) {
        crosses[static_cast<std::size_t>(shell_of(pair[0]))] = true;
        crosses[static_cast<std::size_t>(shell_of(pair[1]))] = true;
        sets.join(shell_of(pair[0]), shell_of(pair[1]));
    }
    std::map<std::int32_t, Group> groups;
    for (std::size_t s = 0; s < crosses.size(); ++s) {
        if (crosses[s]) {
            groups[sets.find(static_cast<std::int32_t>(s))].shells.push_back(s);
        }
    }
    for (auto pair = pairs.rbegin(); pair != pairs.rend(); ++pair) {
        groups[sets.find(shell_of((*pair)[0]))].place =
            mesh.corner(static_cast<std::size_t>((*pair)[0]), 0);
    }
    std::vector<Group> list;
    list.reserve(groups.size());
    for (auto& [leader, group] : groups) {
        list.push_back(std::move(group));
    }
    return list;
}

// Whether an inward shell is a hollow that touches its wall, rather than a solid turned inside out:
// nine of ten of its vertices lie in shells that look outward.
bool is_hollow(const TriMesh& shell, const TriangleBvh& outward) {
    const std::size_t stride = shell.vertices.size() / 1000 + 1;
    std::size_t tried = 0;
    std::size_t inside = 0;
    for (std::size_t v = 0; v < shell.vertices.size(); v += stride) {
        ++tried;
        inside += outward.winding(shell.vertices[v]) > 0 ? 1 : 0;
    }
    return 10 * inside >= 9 * tried;
}

// Crossing shells with the numbers of their groups, all looking outward.
struct Gathered {
    TriMesh mesh;
    std::vector<std::int32_t> group;
    double volume_mm3 = 0.0;

    void add(const TriMesh& shell, std::int32_t number) {
        const auto offset = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.insert(mesh.vertices.end(), shell.vertices.begin(), shell.vertices.end());
        for (const Triangle& t : shell.triangles) {
            mesh.triangles.push_back({t[0] + offset, t[1] + offset, t[2] + offset});
            group.push_back(number);
        }
        volume_mm3 += signed_volume_mm3(shell);
    }
};

// Adds the group's shells, turned outward; what of them is a broken hollow goes into the result.
void gather(const TriMesh& mesh, const std::vector<std::vector<std::int32_t>>& triangles,
            const Group& group, Gathered& gathered, std::int32_t number, Uniting& result) {
    std::vector<TriMesh> members;
    TriMesh outward;
    for (const std::size_t s : group.shells) {
        members.push_back(submesh(mesh, triangles[s]));
        if (signed_volume_mm3(members.back()) >= 0.0) {
            outward = joined(std::move(outward), members.back());
        }
    }
    TriangleBvh tree;
    double hollow = 0.0;
    for (TriMesh& shell : members) {
        const double volume = signed_volume_mm3(shell);
        if (volume < 0.0) {
            if (!outward.triangles.empty()) {
                tree = tree.size() > 0 ? std::move(tree) : TriangleBvh(outward);
                hollow += is_hollow(shell, tree) ? -volume : 0.0;
            }
            shell = flipped(std::move(shell));
        }
        gathered.add(shell, number);
    }
    result.broken_hollows += hollow > 0.0 ? 1 : 0;
    result.broken_hollow_mm3 += hollow;
}

bool all_inward(const TriMesh& mesh, const std::vector<std::vector<std::int32_t>>& triangles,
                const Group& group) {
    return std::all_of(group.shells.begin(), group.shells.end(), [&](std::size_t s) {
        return signed_volume_mm3(submesh(mesh, triangles[s])) < 0.0;
    });
}

}  // namespace

Uniting unite_crossing(const TriMesh& mesh, const Shells& shells,
                       const std::vector<CrossingPair>& pairs, const RunContext& context) {
    Uniting result;
    result.untouched = mesh.triangles.size();
    if (pairs.empty()) {
        result.mesh = mesh;
        return result;
    }
    const auto triangles = triangles_of_shells(shells);
    std::vector<bool> crosses(triangles.size(), false);
    // Hollows that meet are hollow together: apart from the solids, so that they can be turned
    // back.
    Gathered gathered[2];
    std::int32_t number = 0;
    for (const Group& group : crossing_groups(mesh, shells, pairs)) {
        const bool inward = all_inward(mesh, triangles, group);
        gather(mesh, triangles, group, gathered[inward ? 1 : 0], number++, result);
        result.places_mm.push_back(group.place);
        result.groups += group.shells.size() > 1 ? 1 : 0;
        result.shells += group.shells.size() > 1 ? group.shells.size() : 0;
        result.crossing_alone += group.shells.size() > 1 ? 0 : 1;
        for (const std::size_t s : group.shells) {
            crosses[s] = true;
        }
    }
    std::vector<std::int32_t> remaining;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (!crosses[static_cast<std::size_t>(shells.of_triangle[t])]) {
            remaining.push_back(static_cast<std::int32_t>(t));
        }
    }
    result.untouched = remaining.size();
    result.mesh = submesh(mesh, remaining);
    for (const bool inward : {false, true}) {
        const Gathered& some = gathered[inward ? 1 : 0];
        if (some.mesh.triangles.empty()) {
            continue;
        }
        Arrangement arranged = arrange(some.mesh, some.group, context);
        if (!arranged.solved) {
            result.failed = true;
            result.mesh = mesh;
            result.untouched = mesh.triangles.size();
            return result;
        }
        result.overlap_mm3 += some.volume_mm3 - signed_volume_mm3(arranged.mesh);
        result.left += arranged.left;
        result.left_mm3 += arranged.left_mm3;
        result.mesh = joined(std::move(result.mesh),
                             inward ? flipped(std::move(arranged.mesh)) : std::move(arranged.mesh));
    }
    return result;
}

}  // namespace cavigram
