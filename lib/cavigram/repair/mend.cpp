// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/mend.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/cracks.h"
#include "cavigram/repair/duplicates.h"
#include "cavigram/repair/holes.h"
#include "cavigram/repair/orientation.h"
#include "cavigram/repair/part_maker_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostPlaces = 32;
// Cracks wider than this share of the part's diagonal are holes. A tenth of a millimeter on a hand-sized part.
constexpr double kCrackShare = 3e-4;
// A surface whose volume is less than this share of area^1.5 encloses nothing: a sphere has 0.094, a sheet of paper 1e-4.
constexpr double kSheetShare = 1e-6;
// Patches that make up more than this of the area mean that the file holds a piece of a surface, not a part with holes.
constexpr double kMostPatched = 0.45;

class Mender {
  public:
    Mender(TriMesh mesh, const MendOptions& options, const RunContext& context)
        : mesh_(std::move(mesh)), options_(options), context_(context) {}

    Mended run() {
        weld();
        if (!adjacency(mesh_).closed()) {
            sew();
        }
        nest();
        check_volume();
        const bool sound = std::all_of(steps_.begin(), steps_.end(), [](const RepairStep& s) { return s.action == "weld"; });
        return {PartMaker::make(std::move(mesh_), std::move(steps_), sound ? Verdict::sound : Verdict::repaired),
                std::move(findings_)};
    }

  private:
    void weld() {
        context_.report("welding", 0.0);
        Weld welded = weld_exact(mesh_);
        if (welded.vertices_joined > 0) {
            log("weld", welded.vertices_joined, {});
        }
        if (!welded.degenerate_triangles.empty()) {
            log("drop_degenerate", welded.degenerate_triangles.size(), places_of(welded.degenerate_triangles));
        }
        mesh_ = std::move(welded.mesh);
        if (mesh_.triangles.empty()) {
            throw UnusableInput("Every triangle in the file has two corners in the same place; export the mesh again.");
        }
    }

    // Everything that only a broken surface needs.
    void sew() {
        remove_repeated();
        if (!closed_when_parted()) {
            turn_faces();
        }
        if (!closed_when_parted()) {
            join_cracks();
            remove_repeated();
            turn_faces();
        }
        part_touching();
        drop_scraps();
        if (!adjacency(mesh_).closed()) {
            close_holes();
            part_touching();  // a patch may run along an edge that is there already
        }
        drop_scraps();
    }

    void remove_repeated() {
        DuplicateRemoval removal = remove_duplicates(mesh_);
        if (!removal.repeated.empty()) {
            log("drop_repeated", removal.repeated.size(), places_of(removal.repeated));
        }
        if (!removal.folded.empty()) {
            log("drop_folded", removal.folded.size(), places_of(removal.folded));
        }
        mesh_ = std::move(removal.mesh);
        if (mesh_.triangles.empty()) {
            throw UnusableInput("The surface is folded flat onto itself and encloses nothing; export a part with a thickness.");
        }
    }

    [[nodiscard]] bool closed_when_parted() const { return adjacency(cut_to_manifold(mesh_).mesh).closed(); }

    void part_touching() {
        ManifoldCut cut = cut_to_manifold(mesh_);
        if (cut.vertices_parted > 0) {
            log("part_touching", cut.edges_parted + cut.vertices_parted, {});
        }
        mesh_ = std::move(cut.mesh);
    }

    void turn_faces() {
        Consistency consistent = make_consistent(mesh_);
        if (consistent.turned > 0) {
            log("turn_faces", consistent.turned, places_of(consistent.turned_triangles));
            mesh_ = std::move(consistent.mesh);
        }
    }

    void join_cracks() {
        CrackClosing closing = close_cracks(mesh_, kCrackShare * bounds(mesh_).diagonal());
        if (closing.joined > 0) {
            RepairStep& step = log("close_cracks", closing.joined, closing.places_mm);
            step.volume_below_mm3 = step.volume_above_mm3 = closing.volume_bound_mm3;
            mesh_ = std::move(closing.mesh);
        }
    }

    void drop_scraps() {
        const Shells pieces = shells(mesh_, adjacency(mesh_));
        std::vector<double> area(static_cast<std::size_t>(pieces.count), 0.0);
        double whole = 0.0;
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const double a = 0.5 * double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2)).norm();
            area[static_cast<std::size_t>(pieces.of_triangle[t])] += a;
            whole += a;
        }
        TriMesh kept;
        kept.vertices = mesh_.vertices;
        std::vector<Vec3> places;
        std::size_t dropped = 0;
        std::vector<bool> counted(area.size(), false);
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
            if (area[piece] >= options_.scrap_share * whole) {
                kept.triangles.push_back(mesh_.triangles[t]);
            } else if (!counted[piece]) {
                counted[piece] = true;
                ++dropped;
                places.push_back(mesh_.corner(t, 0));
            }
        }
        if (dropped == 0) {
            return;
        }
        const double before = signed_volume_mm3(mesh_);
        mesh_ = std::move(kept);
        RepairStep& step = log("drop_scraps", dropped, places);
        step.volume_change_mm3 = adjacency(mesh_).closed() ? signed_volume_mm3(mesh_) - before : 0.0;
    }

    void close_holes() {
        HoleOptions holes;
        holes.largest_rim_diameter_mm = options_.largest_hole_mm.value_or(0.0);
        HoleFilling filling = fill_holes(mesh_, holes, context_);
        if (!filling.left_open.empty()) {
            const Patch& hole = filling.left_open.front();
            throw UnusableInput(format("%zu hole%s can't be closed, the first %.3g mm wide near %s; mend the mesh there%s.",
                                       filling.left_open.size(), filling.left_open.size() == 1 ? "" : "s", hole.diameter_mm,
                                       place_text(hole.center_mm).c_str(),
                                       options_.largest_hole_mm ? ", or allow a larger --largest-hole" : ""));
        }
        double patched = 0.0;
        RepairStep step;
        step.action = "close_holes";
        step.count = filling.patches.size();
        std::sort(filling.patches.begin(), filling.patches.end(),
                  [](const Patch& p, const Patch& q) { return p.area_mm2 > q.area_mm2; });
        for (const Patch& patch : filling.patches) {
            patched += patch.area_mm2;
            step.volume_change_mm3 += patch.volume_change_mm3;
            step.volume_below_mm3 += patch.volume_below_mm3;
            step.volume_above_mm3 += patch.volume_above_mm3;
            if (step.places_mm.size() < kMostPlaces) {
                step.places_mm.push_back(to_array(patch.center_mm));
            }
            note_patch(patch);
        }
        steps_.push_back(step);
        mesh_ = std::move(filling.mesh);
        double whole = 0.0;
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            whole += 0.5 * double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2)).norm();
        }
        if (patched > kMostPatched * whole) {
            throw UnusableInput(format("The surface is open: closing it would add %.0f %% of its area, the largest gap %.3g mm wide near %s; "
                                       "give a mesh that goes all around the part.",
                                       100.0 * patched / (whole - patched), filling.patches.front().diameter_mm,
                                       place_text(filling.patches.front().center_mm).c_str()));
        }
    }

    void note_patch(const Patch& patch) {
        if (patch.kind == PatchKind::base) {
            findings_.push_back({Severity::note, "base_closed",
                                 format("The flat open side, %.3g mm wide, was closed flat, as if the part had stood there.", patch.diameter_mm),
                                 {to_array(patch.center_mm)}});
        }
    }

    void nest() {
        context_.report("checking shells", 0.0);
        const Nesting nesting = orient_shells(mesh_, shells(mesh_, adjacency(mesh_)));
        if (!nesting.turned.empty()) {
            log("turn_shells", nesting.turned.size(), {});
        }
        if (nesting.assumed_hollow.empty()) {
            return;
        }
        double volume = 0.0;
        for (const std::int32_t s : nesting.assumed_hollow) {
            volume += std::abs(nesting.volume_mm3[static_cast<std::size_t>(s)]);
        }
        steps_.back().volume_above_mm3 = volume;
        findings_.push_back({Severity::warning, "hollow_assumed",
                             format("%zu shell%s inside the part, %.3g cm3 together, taken for hollow space; if the part is solid there, remove "
                                    "the inner surface.",
                                    nesting.assumed_hollow.size(), nesting.assumed_hollow.size() == 1 ? " lies" : "s lie", volume / 1000.0), {}});
    }

    void check_volume() const {
        double area = 0.0;
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            area += 0.5 * double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2)).norm();
        }
        if (!(signed_volume_mm3(mesh_) > kSheetShare * std::pow(area, 1.5))) {
            throw UnusableInput("The surface encloses no volume: it is a sheet or folded flat; give a mesh that goes all around the part.");
        }
    }

    std::vector<Vec3> places_of(const std::vector<std::int32_t>& triangles) const {
        std::vector<Vec3> places;
        for (std::size_t i = 0; i < std::min(kMostPlaces, triangles.size()); ++i) {
            places.push_back(mesh_.corner(static_cast<std::size_t>(triangles[i]), 0));
        }
        return places;
    }

    RepairStep& log(const char* action, std::size_t count, const std::vector<Vec3>& places) {
        RepairStep step;
        step.action = action;
        step.count = count;
        for (std::size_t i = 0; i < std::min(kMostPlaces, places.size()); ++i) {
            step.places_mm.push_back(to_array(places[i]));
        }
        steps_.push_back(step);
        return steps_.back();
    }

    TriMesh mesh_;
    MendOptions options_;
    RunContext context_;
    std::vector<RepairStep> steps_;
    std::vector<Finding> findings_;
};

}  // namespace

Mended mend(const TriMesh& soup_mm, const MendOptions& options, const RunContext& context) {
    if (soup_mm.triangles.empty()) {
        throw UnusableInput("The mesh has no triangles; give a file that holds the surface of a part.");
    }
    return Mender(soup_mm, options, context).run();
}

}  // namespace cavigram
