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
#include "cavigram/repair/wrap.h"

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
        work.ledger.log("weld", welded.vertices_joined, {});
    }
    if (!welded.degenerate_triangles.empty()) {
        std::vector<Vec3> places;
        for (const std::int32_t t : welded.degenerate_triangles) {
            places.push_back(soup.corner(static_cast<std::size_t>(t), 0));
        }
        work.ledger.log("drop_degenerate", places.size(), places);
        work.ledger.fault("degenerate", places.size(), places);
    }
    work.mesh = std::move(welded.mesh);
    if (work.mesh.triangles.empty()) {
        throw UnusableInput(
            "Every triangle in the file has two corners in the same place; export the mesh "
            "again.");
    }
}

// Until every edge has its two triangles, every vertex its one fan, and, where that can be,
// nothing crosses.
void close(Workpiece& work) {
    if (!work.adjacent.closed() || pinched_somewhere(work.mesh, work.adjacent)) {
        if (work.options.level == MendLevel::off) {
            throw UnusableInput(
                fmt::format("The surface is not closed as it stands ({} open and {} irregular "
                            "edge sides), and mending is off; allow {} gentle or full.",
                            work.adjacent.border_halfedges, work.adjacent.irregular_halfedges,
                            setting("mend")));
        }
        sew(work);
        work.adjacent = adjacency(work.mesh);
    }
    if (!work.adjacent.closed()) {
        throw NotClosed("The surface can't be closed; mend the mesh, or try " + setting("wrap") +
                        ".");
    }
    work.shells = shells(work.mesh, work.adjacent);
    if (work.options.crossings) {
        settle_crossings(work);
    }
}

// The last resort. `refusal` says what went wrong before, null when the wrap was asked for and
// `mended_mm3` is what the mended surface holds.
void put_wrap(Workpiece& work, const NotClosed* refusal, std::optional<double> mended_mm3) {
    if (work.options.level != MendLevel::full) {
        if (refusal != nullptr) {
            throw UnusableInput(*refusal);
        }
        throw InvalidInput(
            fmt::format("A wrap changes the whole surface; give {} without {} off or gentle.",
                        setting("wrap"), setting("mend")));
    }
    const double solid = winding_volume_mm3(work.mesh, work.context);
    if (refusal != nullptr && !(solid > 0.0)) {
        throw UnusableInput(refusal->told());
    }
    const std::optional<Wrap> wrap = wrap_around(work.mesh, solid, work.context);
    if (!wrap) {
        throw UnusableInput(refusal != nullptr
                                ? refusal->told()
                                : "The wrap went in through a gap of the surface and holds "
                                  "less than the part; close the gap in the mesh.");
    }
    if (mended_mm3 && (wrap->volume_mm3 - wrap->volume_below_mm3 > *mended_mm3 ||
                       wrap->volume_mm3 + wrap->volume_above_mm3 < *mended_mm3)) {
        throw UnusableInput(
            fmt::format("The wrap holds {} and the mended surface {}, which is further apart than "
                        "its range: it "
                        "bridges or fills what is hollow; leave {} out.",
                        told(wrap->volume_mm3, Kind::volume, 4), told(*mended_mm3, Kind::volume, 4),
                        setting("wrap")));
    }
    work.mesh = wrap->mesh;
    work.refresh();
    work.crossings.clear();
    RepairStep& step = work.ledger.log("wrap", work.mesh.triangles.size(), {});
    step.volume_below_mm3 = wrap->volume_below_mm3;
    step.volume_above_mm3 = wrap->volume_above_mm3;
    work.ledger.findings.push_back(
        {Severity::warning,
         "wrapped",
         fmt::format("The surface was replaced by a wrap that bridges gaps up to "
                     "{}; {} of it has no surface of the file beneath.",
                     told(wrap->alpha_mm, Kind::length), told(wrap->invented_mm2, Kind::area)),
         {}});
}

void check_volume(const Workpiece& work) {
    if (!(signed_volume_mm3(work.mesh) > kSheetShare * std::pow(area_of(work.mesh), 1.5))) {
        throw UnusableInput(
            "The surface encloses no volume: it is a sheet or folded flat; give a mesh that "
            "goes all around the part.");
    }
}

void shape_and_noise(Workpiece& work) {
    ShapeSurvey survey = survey_shape(work.mesh);
    work.ledger.faults.insert(work.ledger.faults.end(), survey.faults.begin(), survey.faults.end());
    const double noise = survey.noise_mm;
    if (noise < kLeastNoise * bounds(work.mesh).diagonal().norm()) {
        return;
    }
    Fault rough{"noise", 1, {}, {noise}};
    work.ledger.faults.push_back(rough);
    RepairStep& step = work.ledger.log("allow_for_noise", 1, {});
    step.volume_below_mm3 = std::min(area_of(work.mesh) * noise, signed_volume_mm3(work.mesh));
    step.volume_above_mm3 = area_of(work.mesh) * noise;
}

bool was_wrapped(const Workpiece& work) {
    return !work.ledger.steps.empty() && work.ledger.steps.back().action == "wrap";
}

bool nothing_but_notes(const std::vector<RepairStep>& steps) {
    return std::all_of(steps.begin(), steps.end(), [](const RepairStep& s) {
        return s.action == "weld" || s.action == "allow_for_noise";
    });
}

}  // namespace

Mended mend(const TriMesh& soup_mm, const MendOptions& options, const RunContext& context) {
    if (soup_mm.triangles.empty()) {
        throw UnusableInput(
            "The mesh has no triangles; give a file that holds the surface of a part.");
    }
    Workpiece work;
    work.options = options;
    work.context = context;
    weld(work, soup_mm);
    work.adjacent = adjacency(work.mesh);
    bool wrapped = options.wrap;
    try {
        if (!options.wrap || options.level == MendLevel::full) {
            close(work);
        }
    } catch (const NotClosed& refusal) {
        put_wrap(work, &refusal, std::nullopt);
        wrapped = true;
    }
    if (options.wrap && !was_wrapped(work)) {
        if (options.level == MendLevel::full) {
            nest_shells(work);
        }
        put_wrap(work, nullptr, signed_volume_mm3(work.mesh));
    }
    nest_shells(work);
    allow_for_crossings(work);
    check_volume(work);
    if (options.survey) {
        shape_and_noise(work);
    }
    PartPieces pieces;
    pieces.verdict = wrapped                                ? Verdict::wrapped
                     : nothing_but_notes(work.ledger.steps) ? Verdict::sound
                                                            : Verdict::repaired;
    pieces.mesh = std::move(work.mesh);
    pieces.adjacent = std::move(work.adjacent);
    pieces.shells = std::move(work.shells);
    pieces.steps = std::move(work.ledger.steps);
    pieces.faults = std::move(work.ledger.faults);
    pieces.crossings = std::move(work.crossings);
    return {PartMaker::make(std::move(pieces)), std::move(work.ledger.findings)};
}

}  // namespace cavigram
