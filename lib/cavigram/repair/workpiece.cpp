// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/repair/orientation.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

std::vector<std::array<double, 3>> at_most(std::size_t most, const std::vector<Vec3>& places) {
    std::vector<std::array<double, 3>> some;
    for (std::size_t i = 0; i < std::min(most, places.size()); ++i) {
        some.push_back(to_array(places[i]));
    }
    return some;
}

}  // namespace

void Ledger::log(RepairAction action, std::size_t count, const std::vector<Vec3>& places,
                 const VolumeEffect& effect) {
    RepairStep step;
    step.action = action;
    step.count = count;
    step.volume_change_mm3 = effect.change_mm3;
    step.volume_below_mm3 = effect.below_mm3;
    step.volume_above_mm3 = effect.above_mm3;
    step.places_mm = at_most(kMostStepPlaces, places);
    steps.push_back(std::move(step));
}

void Ledger::fault(FaultKind kind, std::size_t count, const std::vector<Vec3>& places) {
    faults.push_back({kind, count, at_most(kMostFaultPlaces, places), {}});
}

void Ledger::find(Severity severity, FindingCode code, std::string text,
                  const std::vector<Vec3>& places) {
    findings.push_back({severity, code, std::move(text), at_most(kMostStepPlaces, places)});
}

const Adjacency& Workpiece::adjacent() {
    if (!adjacent_known_) {
        adjacent_ = adjacency(mesh_);
        adjacent_known_ = true;
    }
    return adjacent_;
}

const Shells& Workpiece::shells() {
    if (!shells_known_) {
        shells_ = cavigram::shells(mesh_, adjacent());
        shells_known_ = true;
    }
    return shells_;
}

void Workpiece::put(TriMesh mesh) {
    mesh_ = std::move(mesh);
    adjacent_known_ = shells_known_ = false;
    crossings_.clear();
    crossings_are_rounding_ = false;
}

void Workpiece::turn(const std::vector<std::int32_t>& turned) {
    turn_shells(mesh_, shells(), turned);
    adjacent_known_ = false;  // sides of triangles have changed places; shells and crossings stay
}

void Workpiece::look_for_crossings() {
    crossings_ = parted_ ? crossing_pairs_by_place(mesh_, context)
                         : crossing_pairs(mesh_, adjacent(), context);
    crossings_are_rounding_ = false;
}

std::vector<Vec3> Workpiece::places_of(const std::vector<std::int32_t>& triangles) const {
    std::vector<Vec3> places;
    for (std::size_t i = 0; i < std::min(kMostFaultPlaces, triangles.size()); ++i) {
        places.push_back(mesh_.corner(static_cast<std::size_t>(triangles[i]), 0));
    }
    return places;
}

PartPieces Workpiece::released() {
    PartPieces pieces;
    // Both, each by itself: shells that were turned are known while the neighbors are not.
    static_cast<void>(adjacent());
    static_cast<void>(shells());
    pieces.mesh = std::move(mesh_);
    pieces.adjacent = std::move(adjacent_);
    pieces.shells = std::move(shells_);
    pieces.crossings = std::move(crossings_);
    pieces.steps = std::move(ledger.steps);
    pieces.faults = std::move(ledger.faults);
    put({});
    return pieces;
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
