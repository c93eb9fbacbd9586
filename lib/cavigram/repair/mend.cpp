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
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/repair/tangles.h"
#include "cavigram/repair/unite.h"
#include "cavigram/repair/wrap.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostPlaces = 32;
// Cracks wider than this share of the part's diagonal are holes. A tenth of a millimeter on a
// hand-sized part.
constexpr double kCrackShare = 3e-4;
// A surface whose volume is less than this share of area^1.5 encloses nothing: a sphere has 0.094,
// a sheet of paper 1e-4.
constexpr double kSheetShare = 1e-6;
// Patches that make up more than this of the area mean that the file holds a piece of a surface,
// not a part with holes.
constexpr double kMostPatched = 0.45;
// Gentle mending closes no hole wider than this share of the diagonal: 2 mm on a hand-sized part.
constexpr double kGentleHole = 0.02;
// Noise below this share of the diagonal is not worth a range: 0.01 mm on a hand-sized part.
constexpr double kLeastNoise = 1e-4;
// Nested shells are the two skins of one scanned wall if the inner has at least this share of the
// outer's area, and the wall's thickness varies (interquartile range) by less than this share of
// its median.
constexpr double kSkinArea = 0.4;
constexpr double kSkinVariation = 0.5;

double area_of(const TriMesh& mesh, std::size_t t) {
    return 0.5 * double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
}

double area_of(const TriMesh& mesh) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += area_of(mesh, t);
    }
    return sum;
}

// A mesh that can't be closed by patches, but perhaps by a wrap.
class NotClosed : public UnusableInput {
  public:
    using UnusableInput::UnusableInput;
};

class Mender {
  public:
    Mender(const TriMesh& soup, const MendOptions& options, const RunContext& context)
        : soup_(soup), options_(options), context_(context) {}

    Mended run() {
        weld();
        adjacent_ = adjacency(mesh_);
        if (options_.wrap) {
            put_wrap(nullptr);
        } else {
            try {
                close();
            } catch (const NotClosed& refusal) {
                put_wrap(&refusal);
            }
        }
        nest();
        check_volume();
        if (options_.survey) {
            shape_and_noise();
        }
        const bool sound = std::all_of(steps_.begin(), steps_.end(), [](const RepairStep& s) {
            return s.action == "weld" || s.action == "allow_for_noise";
        });
        PartPieces pieces;
        pieces.mesh = std::move(mesh_);
        pieces.adjacent = std::move(adjacent_);
        pieces.shells = std::move(shells_);
        pieces.steps = std::move(steps_);
        pieces.faults = std::move(faults_);
        pieces.crossings = std::move(crossings_);
        pieces.verdict = wrapped_ ? Verdict::wrapped : sound ? Verdict::sound : Verdict::repaired;
        return {PartMaker::make(std::move(pieces)), std::move(findings_)};
    }

  private:
    void weld() {
        context_.report("welding", 0.0);
        Weld welded = weld_exact(soup_);
        if (welded.vertices_joined > 0) {
            log("weld", welded.vertices_joined, {});
        }
        if (!welded.degenerate_triangles.empty()) {
            std::vector<Vec3> places;
            for (const std::int32_t t : welded.degenerate_triangles) {
                places.push_back(soup_.corner(static_cast<std::size_t>(t), 0));
            }
            log("drop_degenerate", places.size(), places);
            fault("degenerate", places.size(), places);
        }
        mesh_ = std::move(welded.mesh);
        if (mesh_.triangles.empty()) {
            throw UnusableInput(
                "Every triangle in the file has two corners in the same place; export the mesh "
                "again.");
        }
    }

    // Until every edge has its two triangles, every vertex its one fan, and, where that can be,
    // nothing crosses.
    void close() {
        if (!adjacent_.closed() || pinched_somewhere(mesh_, adjacent_)) {
            if (options_.level == MendLevel::off) {
                throw UnusableInput(
                    format("The surface is not closed as it stands (%zu open and %zu irregular "
                           "edge sides), and mending is off; allow --mend gentle or full.",
                           adjacent_.border_halfedges, adjacent_.irregular_halfedges));
            }
            sew();
            adjacent_ = adjacency(mesh_);
        }
        if (!adjacent_.closed()) {
            throw NotClosed("The surface can't be closed; mend the mesh, or try --wrap.");
        }
        shells_ = shells(mesh_, adjacent_);
        if (options_.crossings) {
            untangle();
        }
    }

    void refresh() {
        adjacent_ = adjacency(mesh_);
        shells_ = shells(mesh_, adjacent_);
    }

    void untangle() {
        context_.report("looking for crossings", 0.0);
        crossings_ = touching_ ? crossing_pairs_by_place(mesh_, context_)
                               : crossing_pairs(mesh_, adjacent_, context_);
        if (crossings_.empty()) {
            return;
        }
        std::vector<std::int32_t> crossing;
        for (const CrossingPair& pair : crossings_) {
            crossing.push_back(pair[0]);
        }
        fault("crossing", crossings_.size(), places_of(crossing));
        if (options_.level == MendLevel::full) {
            cut_tangles();
            unite();
        }
        if (crossings_.empty()) {
            return;
        }
        double area = 0.0;
        double widest = 0.0;
        for (const CrossingPair& pair : crossings_) {
            for (const std::int32_t t : pair) {
                const double one = area_of(mesh_, static_cast<std::size_t>(t));
                area += one;
                widest = std::max(widest, one);
            }
        }
        // Where the surface crosses itself in one shell, what is counted twice is no deeper than
        // the crossing triangles are wide.
        RepairStep& step =
            log("keep_crossings", crossings_.size(), places_of({crossings_.front()[0]}));
        step.volume_below_mm3 = step.volume_above_mm3 =
            std::min(area, area_of(mesh_)) * std::sqrt(widest);
        findings_.push_back(
            {Severity::warning, "crosses_itself",
             format("%zu pairs of triangles still cross, the first near %s; air and volume there "
                    "are less sure.",
                    crossings_.size(),
                    place_text(mesh_.corner(static_cast<std::size_t>(crossings_.front()[0]), 0))
                        .c_str()),
             steps_.back().places_mm});
    }

    // Each shell that crosses itself is mended by itself, so that shells that cross each other stay
    // for the union.
    void cut_tangles() {
        std::vector<bool> tangled(static_cast<std::size_t>(shells_.count), false);
        bool any = false;
        for (const CrossingPair& pair : crossings_) {
            const auto a =
                static_cast<std::size_t>(shells_.of_triangle[static_cast<std::size_t>(pair[0])]);
            if (a ==
                static_cast<std::size_t>(shells_.of_triangle[static_cast<std::size_t>(pair[1])])) {
                tangled[a] = any = true;
            }
        }
        if (!any) {
            return;
        }
        const auto triangles = triangles_of_shells(shells_);
        TriMesh whole;
        RepairStep step;
        step.action = "cut_tangles";
        for (std::size_t s = 0; s < triangles.size(); ++s) {
            TriMesh shell = submesh(mesh_, triangles[s]);
            if (tangled[s]) {
                Untangling done =
                    undo_tangles(shell, crossing_pairs_by_place(shell, context_), context_);
                shell = std::move(done.mesh);
                step.count += done.triangles_removed;
                step.volume_change_mm3 += done.volume_change_mm3;
                step.volume_below_mm3 += done.volume_below_mm3;
                step.volume_above_mm3 += done.volume_above_mm3;
                for (const Vec3& place : done.places_mm) {
                    if (step.places_mm.size() < kMostPlaces) {
                        step.places_mm.push_back(to_array(place));
                    }
                }
            }
            whole = joined(std::move(whole), shell);
        }
        if (step.count > 0) {
            steps_.push_back(step);
        }
        mesh_ = std::move(whole);
        refresh();
        crossings_ = crossing_pairs_by_place(mesh_, context_);
    }

    void unite() {
        const double before = signed_volume_mm3(mesh_);
        Uniting united = unite_crossing(mesh_, shells_, crossings_, context_);
        if (united.groups + united.failed == 0) {
            return;
        }
        fault("overlap", united.groups + united.failed, united.places_mm);
        mesh_ = std::move(united.mesh);
        if (united.groups > 0) {
            log("unite", united.shells, united.places_mm).volume_change_mm3 =
                signed_volume_mm3(mesh_) - before;
            part_touching();
        }
        if (united.failed > 0) {
            RepairStep& step = log("keep_overlap", united.failed, united.places_mm);
            step.volume_below_mm3 = united.overlap_kept_mm3 + united.overlap_error_mm3;
            findings_.push_back({Severity::warning, "overlap_kept",
                                 format("Solids overlap and could not be united; about %.3g cm3 is "
                                        "counted twice, which the range allows for.",
                                        united.overlap_kept_mm3 / 1000.0),
                                 step.places_mm});
        }
        refresh();
        crossings_ = crossing_pairs_by_place(mesh_, context_);
    }

    // The last resort. `refusal` says what went wrong before, null when the wrap was asked for.
    void put_wrap(const NotClosed* refusal) {
        if (options_.level != MendLevel::full) {
            if (refusal != nullptr) {
                throw UnusableInput(*refusal);
            }
            throw InvalidInput(
                "A wrap changes the whole surface; give --wrap without --mend off or gentle.");
        }
        double widest = 0.0;
        const Adjacency adjacent = adjacency(mesh_);
        for (const auto& loop : border_loops(mesh_, adjacent)) {
            Box3 box;
            for (const std::int32_t v : loop) {
                box.extend(mesh_.vertices[static_cast<std::size_t>(v)]);
            }
            widest = std::max(widest, box.diagonal());
        }
        const double solid = winding_volume_mm3(mesh_, context_);
        if (refusal != nullptr && !(solid > 0.0)) {
            throw UnusableInput(refusal->what());
        }
        // Where the holes could be filled they are no gaps any more; a third of the part is no gap
        // but an open sheet.
        const std::optional<Wrap> wrap =
            wrap_around(mesh_, std::min(widest, 0.1 * bounds(mesh_).diagonal()), solid, context_);
        if (!wrap) {
            throw UnusableInput(refusal != nullptr
                                    ? refusal->what()
                                    : "The wrap went in through a gap of the surface and holds "
                                      "less than the part; close the gap in the mesh.");
        }
        mesh_ = wrap->mesh;
        refresh();
        wrapped_ = true;
        crossings_.clear();
        RepairStep& step = log("wrap", mesh_.triangles.size(), {});
        step.volume_below_mm3 = wrap->volume_below_mm3;
        step.volume_above_mm3 = wrap->volume_above_mm3;
        findings_.push_back({Severity::warning,
                             "wrapped",
                             format("The surface was replaced by a wrap that bridges gaps up to "
                                    "%.3g mm; %.3g cm2 of it has no surface of the file beneath.",
                                    wrap->alpha_mm, wrap->invented_mm2 / 100.0),
                             {}});
    }

    void shape_and_noise() {
        ShapeSurvey survey = survey_shape(mesh_);
        faults_.insert(faults_.end(), survey.faults.begin(), survey.faults.end());
        const double noise = survey.noise_mm;
        if (noise < kLeastNoise * bounds(mesh_).diagonal()) {
            return;
        }
        Fault rough{"noise", 1, {}, {noise}};
        faults_.push_back(rough);
        RepairStep& step = log("allow_for_noise", 1, {});
        step.volume_below_mm3 = std::min(area_of(mesh_) * noise, signed_volume_mm3(mesh_));
        step.volume_above_mm3 = area_of(mesh_) * noise;
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
            fault("duplicate", removal.repeated.size(), places_of(removal.repeated));
        }
        if (!removal.folded.empty()) {
            log("drop_folded", removal.folded.size(), places_of(removal.folded));
            fault("folded", removal.folded.size(), places_of(removal.folded));
        }
        mesh_ = std::move(removal.mesh);
        if (mesh_.triangles.empty()) {
            throw UnusableInput(
                "The surface is folded flat onto itself and encloses nothing; export a part with a "
                "thickness.");
        }
    }

    [[nodiscard]] bool closed_when_parted() const {
        return adjacency(cut_to_manifold(mesh_).mesh).closed();
    }

    void part_touching() {
        ManifoldCut cut = cut_to_manifold(mesh_);
        if (cut.vertices_parted > 0) {
            std::vector<Vec3> places(
                cut.mesh.vertices.end() - static_cast<std::ptrdiff_t>(cut.vertices_parted),
                cut.mesh.vertices.end());
            log("part_touching", cut.edges_parted + cut.vertices_parted, places);
            fault(cut.edges_parted > 0 ? "nonmanifold_edge" : "nonmanifold_vertex",
                  std::max(cut.edges_parted, std::size_t{1}), places);
            touching_ = true;
        }
        mesh_ = std::move(cut.mesh);
    }

    void turn_faces() {
        Consistency consistent = make_consistent(mesh_);
        if (consistent.turned > 0) {
            log("turn_faces", consistent.turned, places_of(consistent.turned_triangles));
            fault("flipped", consistent.turned, places_of(consistent.turned_triangles));
            mesh_ = std::move(consistent.mesh);
        }
    }

    void join_cracks() {
        CrackClosing closing = close_cracks(mesh_, kCrackShare * bounds(mesh_).diagonal());
        if (closing.joined > 0) {
            fault("crack", closing.joined, closing.places_mm);
            RepairStep& step = log("close_cracks", closing.joined, closing.places_mm);
            step.volume_below_mm3 = step.volume_above_mm3 = closing.volume_bound_mm3;
            mesh_ = std::move(closing.mesh);
        }
    }

    void drop_scraps() {
        const Adjacency adjacent = adjacency(mesh_);
        const Shells pieces = shells(mesh_, adjacent);
        std::vector<double> area(static_cast<std::size_t>(pieces.count), 0.0);
        std::vector<bool> open(area.size(), false);
        double whole = 0.0;
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const double a = area_of(mesh_, t);
            const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
            area[piece] += a;
            whole += a;
            for (std::size_t i = 0; i < 3; ++i) {
                open[piece] = open[piece] || adjacent.twin[3 * t + i] < 0;
            }
        }
        std::vector<std::int32_t> kept;
        std::vector<Vec3> places;
        std::vector<bool> counted(area.size(), false);
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
            if (area[piece] >= options_.scrap_share * whole ||
                (options_.keep_scraps && !open[piece])) {
                kept.push_back(static_cast<std::int32_t>(t));
            } else if (!counted[piece]) {
                counted[piece] = true;
                places.push_back(mesh_.corner(t, 0));
            }
        }
        if (places.empty()) {
            return;
        }
        const double before = signed_volume_mm3(mesh_);
        mesh_ = submesh(mesh_, kept);
        fault("scrap", places.size(), places);
        RepairStep& step = log("drop_scraps", places.size(), places);
        step.volume_change_mm3 =
            adjacency(mesh_).closed() ? signed_volume_mm3(mesh_) - before : 0.0;
    }

    void close_holes() {
        HoleOptions holes;
        holes.largest_rim_diameter_mm = options_.largest_hole_mm.value_or(0.0);
        if (options_.level == MendLevel::gentle) {
            const double gentle = kGentleHole * bounds(mesh_).diagonal();
            holes.largest_rim_diameter_mm =
                std::min(options_.largest_hole_mm.value_or(gentle), gentle);
        }
        const double limit = holes.largest_rim_diameter_mm;
        HoleFilling filling = fill_holes(mesh_, holes, context_);
        if (!filling.left_open.empty()) {
            const Patch& hole = filling.left_open.front();
            const bool limited = limit > 0.0 && hole.diameter_mm > limit;
            const std::string text = format(
                "%zu hole%s can't be closed, the first %.3g mm wide near %s; mend the mesh "
                "there%s.",
                filling.left_open.size(), filling.left_open.size() == 1 ? "" : "s",
                hole.diameter_mm, place_text(hole.center_mm).c_str(),
                !limited                              ? ""
                : options_.level == MendLevel::gentle ? ", or allow --mend full"
                                                      : ", or allow a larger --largest-hole");
            if (limited) {
                throw UnusableInput(text);
            }
            mesh_ = std::move(filling.mesh);
            throw NotClosed(text);
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
        fault_holes(filling.patches);
        steps_.push_back(step);
        mesh_ = std::move(filling.mesh);
        const double whole = area_of(mesh_);
        if (patched > kMostPatched * whole) {
            throw UnusableInput(
                format("The surface is open: closing it would add %.0f %% of its area, the largest "
                       "gap %.3g mm wide near %s; "
                       "give a mesh that goes all around the part.",
                       100.0 * patched / (whole - patched), filling.patches.front().diameter_mm,
                       place_text(filling.patches.front().center_mm).c_str()));
        }
    }

    void note_patch(const Patch& patch) {
        if (patch.kind == PatchKind::base) {
            findings_.push_back({Severity::note,
                                 "base_closed",
                                 format("The flat open side, %.3g mm wide, was closed flat, as if "
                                        "the part had stood there.",
                                        patch.diameter_mm),
                                 {to_array(patch.center_mm)}});
        }
    }

    void fault_holes(const std::vector<Patch>& patches) {
        for (const bool base : {false, true}) {
            Fault holes{base ? "missing_base" : "hole", 0, {}, {}};
            for (const Patch& patch : patches) {
                if ((patch.kind == PatchKind::base) == base) {
                    ++holes.count;
                    if (holes.places_mm.size() < kMostFaultPlaces) {
                        holes.places_mm.push_back(to_array(patch.center_mm));
                        holes.sizes_mm.push_back(patch.rim_mm);
                    }
                }
            }
            if (holes.count > 0) {
                faults_.push_back(std::move(holes));
            }
        }
    }

    // Shells that still cross are not within each other.
    [[nodiscard]] std::vector<std::array<std::int32_t, 2>> crossing_shells() const {
        std::vector<std::array<std::int32_t, 2>> list;
        for (const CrossingPair& pair : crossings_) {
            const std::int32_t a = shells_.of_triangle[static_cast<std::size_t>(pair[0])];
            const std::int32_t b = shells_.of_triangle[static_cast<std::size_t>(pair[1])];
            if (a != b) {
                list.push_back({std::min(a, b), std::max(a, b)});
            }
        }
        std::sort(list.begin(), list.end());
        list.erase(std::unique(list.begin(), list.end()), list.end());
        return list;
    }

    void nest() {
        context_.report("checking shells", 0.0);
        const Nesting nesting = orient_shells(mesh_, shells_, crossing_shells());
        if (!nesting.turned.empty()) {
            if (options_.level == MendLevel::off) {
                throw UnusableInput(
                    "The surface, or a shell of it, is inside out, and mending is off; allow "
                    "--mend gentle or full.");
            }
            log("turn_shells", nesting.turned.size(), {});
            refresh();
        }
        double hollow = 0.0;
        std::size_t count = 0;
        for (std::size_t s = 0; s < nesting.depth.size(); ++s) {
            if (nesting.depth[s] == 1) {
                hollow += std::abs(nesting.volume_mm3[s]);
                ++count;
            }
        }
        if (count == 0) {
            return;
        }
        const auto triangles = triangles_of_shells(shells_);
        std::vector<Vec3> places;
        for (std::size_t s = 0; s < nesting.depth.size(); ++s) {
            if (nesting.depth[s] == 1) {
                places.push_back(mesh_.corner(static_cast<std::size_t>(triangles[s].front()), 0));
            }
        }
        fault("hollow", count, places);
        if (options_.hollows == Hollows::fill) {
            fill_hollows(nesting, count);
            return;
        }
        const bool skins = double_skin(nesting, triangles);
        if (skins) {
            fault("double_skin", 1, places);
        }
        if (nesting.assumed_hollow.empty() && !skins) {
            return;
        }
        double assumed = 0.0;
        for (const std::int32_t s : nesting.assumed_hollow) {
            assumed += std::abs(nesting.volume_mm3[static_cast<std::size_t>(s)]);
        }
        if (skins) {
            log("keep_hollow", count, places).volume_above_mm3 = hollow;
            findings_.push_back({Severity::warning,
                                 "double_skin",
                                 format("An inner surface follows the outer one, as a scan of both "
                                        "sides of a wall does; its %.3g cm3 are taken for hollow "
                                        "space; if the part is solid there, give --hollow fill.",
                                        hollow / 1000.0),
                                 {}});
            return;
        }
        steps_.back().volume_above_mm3 = assumed;
        const std::size_t shells_within = nesting.assumed_hollow.size();
        findings_.push_back(
            {Severity::warning,
             "hollow_assumed",
             format("%zu shell%s inside the part, %.3g cm3 together, taken for hollow space; if "
                    "the part is solid there, give --hollow fill.",
                    shells_within, shells_within == 1 ? " lies" : "s lie", assumed / 1000.0),
             {}});
    }

    void fill_hollows(const Nesting& nesting, std::size_t count) {
        const double before = signed_volume_mm3(mesh_);
        std::vector<std::int32_t> kept;
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            if (nesting.depth[static_cast<std::size_t>(shells_.of_triangle[t])] == 0) {
                kept.push_back(static_cast<std::int32_t>(t));
            }
        }
        mesh_ = submesh(mesh_, kept);
        refresh();
        crossings_ = options_.crossings ? crossing_pairs_by_place(mesh_, context_)
                                        : std::vector<CrossingPair>{};
        log("fill_hollows", count, {}).volume_change_mm3 = signed_volume_mm3(mesh_) - before;
    }

    // Whether some inner shell runs along the outside at about one distance.
    [[nodiscard]] bool double_skin(const Nesting& nesting,
                                   const std::vector<std::vector<std::int32_t>>& triangles) const {
        std::vector<std::int32_t> outer;
        double outer_area = 0.0;
        for (std::size_t s = 0; s < triangles.size(); ++s) {
            if (nesting.depth[s] == 0) {
                outer.insert(outer.end(), triangles[s].begin(), triangles[s].end());
            }
        }
        const TriMesh outside = submesh(mesh_, outer);
        outer_area = area_of(outside);
        const TriangleBvh tree(outside);
        for (std::size_t s = 0; s < triangles.size(); ++s) {
            const TriMesh inside = nesting.depth[s] == 1 ? submesh(mesh_, triangles[s]) : TriMesh{};
            if (inside.vertices.empty() || area_of(inside) < kSkinArea * outer_area) {
                continue;
            }
            std::vector<double> gaps;
            const std::size_t stride = inside.vertices.size() / 2000 + 1;
            for (std::size_t v = 0; v < inside.vertices.size(); v += stride) {
                gaps.push_back(tree.nearest(inside.vertices[v]).distance_mm);
            }
            std::sort(gaps.begin(), gaps.end());
            const std::size_t n = gaps.size();
            if (gaps[3 * n / 4] - gaps[n / 4] < kSkinVariation * gaps[n / 2]) {
                return true;
            }
        }
        return false;
    }

    void check_volume() const {
        if (!(signed_volume_mm3(mesh_) > kSheetShare * std::pow(area_of(mesh_), 1.5))) {
            throw UnusableInput(
                "The surface encloses no volume: it is a sheet or folded flat; give a mesh that "
                "goes all around the part.");
        }
    }

    void fault(const char* kind, std::size_t count, const std::vector<Vec3>& places) {
        Fault one{kind, count, {}, {}};
        for (std::size_t i = 0; i < std::min(kMostFaultPlaces, places.size()); ++i) {
            one.places_mm.push_back(to_array(places[i]));
        }
        faults_.push_back(std::move(one));
    }

    std::vector<Vec3> places_of(const std::vector<std::int32_t>& triangles) const {
        std::vector<Vec3> places;
        for (std::size_t i = 0; i < std::min(kMostFaultPlaces, triangles.size()); ++i) {
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

    const TriMesh& soup_;
    TriMesh mesh_;
    MendOptions options_;
    RunContext context_;
    Adjacency adjacent_;
    Shells shells_;
    std::vector<RepairStep> steps_;
    std::vector<Fault> faults_;
    std::vector<CrossingPair> crossings_;
    std::vector<Finding> findings_;
    bool touching_ = false;  // vertices were parted, so that several may lie in one place
    bool wrapped_ = false;
};

}  // namespace

Mended mend(const TriMesh& soup_mm, const MendOptions& options, const RunContext& context) {
    if (soup_mm.triangles.empty()) {
        throw UnusableInput(
            "The mesh has no triangles; give a file that holds the surface of a part.");
    }
    return Mender(soup_mm, options, context).run();
}

}  // namespace cavigram
