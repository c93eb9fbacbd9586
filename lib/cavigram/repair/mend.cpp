// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/mend.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

// A surface whose volume is less than this share of area^1.5 encloses nothing: a sphere has 0.094,
// a sheet of paper 1e-4.
constexpr double kSheetShare = 1e-6;
// Noise below this share of the diagonal is not worth a range: 0.01 mm on a hand-sized part.
constexpr double kLeastNoise = 1e-4;

void weld(Workpiece& work, const TriMesh& soup) {
    work.context.report("welding", 0.0);
    Weld welded = weld_exact(soup);
    if (welded.vertices_joined > 0) {
        work.ledger.log(RepairAction::weld, welded.vertices_joined, {});
    }
    if (!welded.degenerate_triangles.empty()) {
        std::vector<Vec3> places;
        for (const std::int32_t t : welded.degenerate_triangles) {
            places.push_back(soup.corner(static_cast<std::size_t>(t), 0));
        }
        work.ledger.log(RepairAction::drop_degenerate, places.size(), places);
        work.ledger.fault(FaultKind::degenerate, places.size(), places);
    }
    work.put(std::move(welded.mesh));
    if (work.mesh().triangles.empty()) {
        throw UnusableInput(
            "Every triangle in the file has two corners in the same place; export the mesh "
            "again.");
    }
}

// Until every edge has its two triangles, every vertex its one fan, and, where that can be,
// nothing crosses.
void close(Workpiece& work) {
    if (!work.adjacent().closed() || pinched_somewhere(work.mesh(), work.adjacent())) {
        if (work.options.level == MendLevel::off) {
            throw UnusableInput(
                fmt::format("The surface is not closed as it stands ({} open and {} irregular "
                            "edge sides), and mending is off; allow {} gentle or full.",
                            work.adjacent().border_halfedges, work.adjacent().irregular_halfedges,
                            setting("mend")));
        }
        sew(work);
    }
    if (!work.adjacent().closed()) {
        throw NotClosed("The surface can't be closed; mend the mesh, or try " + setting("wrap") +
                        ".");
    }
    if (work.options.crossings) {
        settle_crossings(work);
    }
}

void check_volume(const TriMesh& mesh) {
    if (!(signed_volume_mm3(mesh) > kSheetShare * std::pow(area_of(mesh), 1.5))) {
        throw UnusableInput(
            "The surface encloses no volume: it is a sheet or folded flat; give a mesh that "
            "goes all around the part.");
    }
}

void shape_and_noise(Workpiece& work) {
    ShapeSurvey survey = survey_shape(work.mesh(), work.context);
    std::vector<Fault>& faults = work.ledger.faults;
    faults.insert(faults.end(), survey.faults.begin(), survey.faults.end());
    const double noise = survey.noise_mm;
    if (noise < kLeastNoise * bounds(work.mesh()).diagonal().norm()) {
        return;
    }
    faults.push_back({FaultKind::noise, 1, {}, {noise}});
    const double all_to_one_side = area_of(work.mesh()) * noise;
    work.ledger.log(
        RepairAction::allow_for_noise, 1, {},
        {0.0, std::min(all_to_one_side, signed_volume_mm3(work.mesh())), all_to_one_side});
}

// The surface closed, or a wrap in its place. Gives back whether it is a wrap.
bool close_or_wrap(Workpiece& work) {
    const bool may_close = !work.options.wrap || work.options.level == MendLevel::full;
    try {
        if (may_close) {
            close(work);
        }
    } catch (const NotClosed& refusal) {
        put_wrap(work, &refusal, std::nullopt);
        return true;
    }
    if (work.options.wrap) {
        if (may_close) {
            nest_shells(work);
        }
        put_wrap(work, nullptr, signed_volume_mm3(work.mesh()));
    }
    return work.options.wrap;
}

Verdict verdict_of(const std::vector<RepairStep>& steps, bool wrapped) {
    const bool only_notes = std::all_of(steps.begin(), steps.end(), [](const RepairStep& s) {
        return s.action == RepairAction::weld || s.action == RepairAction::allow_for_noise;
    });
    return wrapped ? Verdict::wrapped : only_notes ? Verdict::sound : Verdict::repaired;
}

}  // namespace

Mended mend(const TriMesh& soup_mm, const MendOptions& options, const RunContext& context) {
    if (soup_mm.triangles.empty()) {
        throw UnusableInput(
            "The mesh has no triangles; give a file that holds the surface of a part.");
    }
    Workpiece work(options, context);
    weld(work, soup_mm);
    const bool wrapped = close_or_wrap(work);
    nest_shells(work);
    allow_for_crossings(work);
    check_volume(work.mesh());
    if (options.survey) {
        shape_and_noise(work);
    }
    std::vector<Finding> findings = std::move(work.ledger.findings);
    PartPieces pieces = work.released();
    pieces.verdict = verdict_of(pieces.steps, wrapped);
    return {PartMaker::make(std::move(pieces)), std::move(findings)};
}

}  // namespace cavigram
