// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/cracks.h"
#include "cavigram/repair/duplicates.h"
#include "cavigram/repair/orientation.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

// Cracks wider than this share of the part's diagonal are holes. A tenth of a millimeter on a
// hand-sized part.
constexpr double kCrackShare = 3e-4;

void remove_repeated(Workpiece& work) {
    DuplicateRemoval removal = remove_duplicates(work.mesh());
    if (!removal.repeated.empty()) {
        work.ledger.log(RepairAction::drop_repeated, removal.repeated.size(),
                        work.places_of(removal.repeated));
        work.ledger.fault(FaultKind::duplicate, removal.repeated.size(),
                          work.places_of(removal.repeated));
    }
    if (!removal.folded.empty()) {
        work.ledger.log(RepairAction::drop_folded, removal.folded.size(),
                        work.places_of(removal.folded));
        work.ledger.fault(FaultKind::folded, removal.folded.size(), work.places_of(removal.folded));
    }
    work.put(std::move(removal.mesh));
    if (work.mesh().triangles.empty()) {
        throw UnusableInput(
            "The surface is folded flat onto itself and encloses nothing; export a part with a "
            "thickness.");
    }
}

bool closed_when_parted(const Workpiece& work) {
    return adjacency(cut_to_manifold(work.mesh()).mesh).closed();
}

void turn_faces(Workpiece& work) {
    Consistency consistent = make_consistent(work.mesh());
    if (consistent.turned > 0) {
        work.ledger.log(RepairAction::turn_faces, consistent.turned,
                        work.places_of(consistent.turned_triangles));
        work.ledger.fault(FaultKind::flipped, consistent.turned,
                          work.places_of(consistent.turned_triangles));
        work.put(std::move(consistent.mesh));
    }
}

void join_cracks(Workpiece& work) {
    CrackClosing closing =
        close_cracks(work.mesh(), kCrackShare * bounds(work.mesh()).diagonal().norm());
    if (closing.joined > 0) {
        work.ledger.fault(FaultKind::crack, closing.joined, closing.places_mm);
        work.ledger.log(RepairAction::close_cracks, closing.joined, closing.places_mm,
                        {0.0, closing.volume_bound_mm3, closing.volume_bound_mm3});
        work.put(std::move(closing.mesh));
    }
}

void drop_scraps(Workpiece& work) {
    const Adjacency& adjacent = work.adjacent();
    const Shells& pieces = work.shells();
    std::vector<double> area(static_cast<std::size_t>(pieces.count), 0.0);
    std::vector<bool> open(area.size(), false);
    double whole = 0.0;
    for (std::size_t t = 0; t < work.mesh().triangles.size(); ++t) {
        const double a = area_of(work.mesh(), t);
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        area[piece] += a;
        whole += a;
        for (std::size_t i = 0; i < 3; ++i) {
            open[piece] = open[piece] || adjacent.twin[3 * t + i] < 0;
        }
    }
    std::vector<std::int32_t> left;
    std::vector<Vec3> places;
    std::vector<bool> counted(area.size(), false);
    for (std::size_t t = 0; t < work.mesh().triangles.size(); ++t) {
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        if (area[piece] >= work.options.scrap_share * whole ||
            (work.options.keep_scraps && !open[piece])) {
            left.push_back(static_cast<std::int32_t>(t));
        } else if (!counted[piece]) {
            counted[piece] = true;
            places.push_back(work.mesh().corner(t, 0));
        }
    }
    if (places.empty()) {
        return;
    }
    const double before = signed_volume_mm3(work.mesh());
    work.put(submesh(work.mesh(), left));
    work.ledger.fault(FaultKind::scrap, places.size(), places);
    // Of an open surface there is no volume yet.
    work.ledger.log(
        RepairAction::drop_scraps, places.size(), places,
        {work.adjacent().closed() ? signed_volume_mm3(work.mesh()) - before : 0.0, 0.0, 0.0});
}

}  // namespace

void part_touching(Workpiece& work) {
    ManifoldCut cut = cut_to_manifold(work.mesh());
    if (cut.vertices_parted > 0) {
        std::vector<Vec3> places(
            cut.mesh.vertices.end() - static_cast<std::ptrdiff_t>(cut.vertices_parted),
            cut.mesh.vertices.end());
        work.ledger.log(RepairAction::part_touching, cut.edges_parted + cut.vertices_parted,
                        places);
        work.ledger.fault(
            cut.edges_parted > 0 ? FaultKind::nonmanifold_edge : FaultKind::nonmanifold_vertex,
            std::max(cut.edges_parted, std::size_t{1}), places);
        work.note_parted();
    }
    if (cut.vertices_parted + cut.edges_parted > 0) {
        work.put(std::move(cut.mesh));
    }
}

void sew(Workpiece& work) {
    remove_repeated(work);
    if (!closed_when_parted(work)) {
        turn_faces(work);
    }
    if (!closed_when_parted(work)) {
        join_cracks(work);
        remove_repeated(work);
        turn_faces(work);
    }
    part_touching(work);
    drop_scraps(work);
    if (!work.adjacent().closed()) {
        close_holes(work);
        part_touching(work);  // a patch may run along an edge that is there already
    }
    drop_scraps(work);
}

}  // namespace cavigram
