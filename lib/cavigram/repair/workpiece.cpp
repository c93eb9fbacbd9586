// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

RepairStep& Ledger::log(const char* action, std::size_t count, const std::vector<Vec3>& places) {
    RepairStep step;
    step.action = action;
    step.count = count;
    for (std::size_t i = 0; i < std::min(kMostStepPlaces, places.size()); ++i) {
        step.places_mm.push_back(to_array(places[i]));
    }
    steps.push_back(std::move(step));
    return steps.back();
}

void Ledger::fault(const char* kind, std::size_t count, const std::vector<Vec3>& places) {
    Fault one{kind, count, {}, {}};
    for (std::size_t i = 0; i < std::min(kMostFaultPlaces, places.size()); ++i) {
        one.places_mm.push_back(to_array(places[i]));
    }
    faults.push_back(std::move(one));
}

void Workpiece::refresh() {
    adjacent = adjacency(mesh);
    shells = cavigram::shells(mesh, adjacent);
}

std::vector<Vec3> Workpiece::places_of(const std::vector<std::int32_t>& triangles) const {
    std::vector<Vec3> places;
    for (std::size_t i = 0; i < std::min(kMostFaultPlaces, triangles.size()); ++i) {
        places.push_back(mesh.corner(static_cast<std::size_t>(triangles[i]), 0));
    }
    return places;
}

double area_of(const TriMesh& mesh, std::size_t triangle) {
    return 0.5 * double_area_vector(mesh.corner(triangle, 0), mesh.corner(triangle, 1),
                                    mesh.corner(triangle, 2))
                     .norm();
}

double area_of(const TriMesh& mesh) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += area_of(mesh, t);
    }
    return sum;
}

}  // namespace cavigram
