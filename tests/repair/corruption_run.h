// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdio>
#include <functional>
#include <string>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"
#include "cavigram/repair/mend.h"

#include "corruption.h"

namespace corruption {

struct Row {
    int cases = 0;
    int mended = 0;
    int held = 0;  ///< The range holds the truth.
    std::vector<double> errors;
    std::vector<double> widths;  ///< Of the range, as a share of the truth.

    void add(const Row& other) {
        cases += other.cases;
        mended += other.mended;
        held += other.held;
        errors.insert(errors.end(), other.errors.begin(), other.errors.end());
        widths.insert(widths.end(), other.widths.begin(), other.widths.end());
    }
};

inline double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values.empty() ? 0.0 : values[values.size() / 2];
}

/// Mends one case. Closed, free of crossings and of the right Euler number is judged by CGAL, not
/// by lib.
inline Row try_case(const Case& harmed, const std::string& name) {
    Row row;
    row.cases = 1;
    try {
        // Every hole is closed, as if each had been asked for.
        const cavigram::Mended mended = cavigram::mend(harmed.mesh, {.largest_hole_mm = 1e6});
        const TriMesh& mesh = mended.part.mesh();
        const char* fault = nullptr;
        if (!oracle::is_halfedge_mesh(mesh) || !oracle::cgal_is_closed(mesh)) {
            fault = "not closed";
        } else if (!oracle::cgal_self_intersections(mesh).empty() &&
                   !oracle::crossing_pairs_by_boxes(oracle::welded(mesh)).empty()) {
            // Where two fans touch in one point, parted into two vertices at one place, CGAL
            // reports the triangles around; with corners at one place made one it does not.
            fault = "crosses itself";
        } else if (harmed.euler && oracle::euler_number(mesh) != *harmed.euler) {
            fault = "another Euler number";
        }
        row.mended = fault == nullptr ? 1 : 0;
        const double volume = oracle::cgal_volume(mesh);
        const double below = mended.part.volume_below_mm3();
        const double above = mended.part.volume_above_mm3();
        const double slack = harmed.slack * harmed.volume_mm3;
        row.held = harmed.volume_mm3 >= volume - below - slack &&
                           harmed.volume_mm3 <= volume + above + slack
                       ? 1
                       : 0;
        row.errors.push_back(std::abs(volume / harmed.volume_mm3 - 1.0));
        row.widths.push_back((below + above) / harmed.volume_mm3);
        if (fault != nullptr || row.held == 0) {
            std::printf("  %s: %s, error %+.3f %%, range -%.3f %% +%.3f %%\n", name.c_str(),
                        fault != nullptr ? fault : "range misses",
                        100.0 * (volume / harmed.volume_mm3 - 1.0),
                        100.0 * below / harmed.volume_mm3, 100.0 * above / harmed.volume_mm3);
        }
    } catch (const cavigram::UnusableInput& refusal) {
        std::printf("  %s: refused: %s\n", name.c_str(), refusal.what());
    }
    return row;
}

inline void print(const std::string& name, const Row& row) {
    std::printf("| %-15s | %5d | %5.1f %% | %7.3f %% | %5.1f %% | %7.2f %% |\n", name.c_str(),
                row.cases, 100.0 * row.mended / row.cases, 100.0 * median(row.errors),
                100.0 * row.held / row.cases, 100.0 * median(row.widths));
}

/// Writes a mesh to a file of some format and reads it back; gives the name of the format.
using Passage = std::function<std::string(TriMesh&, std::size_t)>;

/// Every recipe on every body, `seeds` times, the last one only with a `passage`; prints the table
/// and gives the total. With `every` above 1 one in so
/// many pairs of recipe and body is tried.
inline Row run(const std::vector<Body>& bodies, int seeds, const Passage& passage = {},
               std::size_t every = 1) {
    std::vector<Row> rows(recipes().size());
    std::size_t passages = 0;
    for (std::size_t r = 0; r < rows.size(); ++r) {
        for (std::size_t b = 0; b < bodies.size(); ++b) {
            if ((brings_its_body(r) && !bodies[b].box) ||
                (recipes()[r] == "in all formats" && !passage) || (r + b) % every != 0) {
                continue;
            }
            for (int seed = 0; seed < seeds; ++seed) {
                Random random(1000 * r + 100 * b + static_cast<std::uint64_t>(seed));
                Case one = harmed(bodies[b], r, random);
                std::string name =
                    bodies[b].name + ", " + recipes()[r] + ", seed " + std::to_string(seed);
                if (recipes()[r] == "in all formats") {
                    name += ", " + passage(one.mesh, passages++);
                    one.slack = 1e-5;  // single precision in most formats
                }
                rows[r].add(try_case(one, name));
            }
        }
    }
    Row total;
    std::printf(
        "| recipe          | cases |  mended | median error | range holds | median width |\n");
    for (std::size_t r = 0; r < rows.size(); ++r) {
        if (rows[r].cases > 0) {
            print(recipes()[r], rows[r]);
        }
        total.add(rows[r]);
    }
    print("all", total);
    return total;
}

}  // namespace corruption
