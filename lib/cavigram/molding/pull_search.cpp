// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/pull_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <optional>
#include <tuple>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/molding/gap_glance.h"
#include "cavigram/molding/levels_detail.h"
#include "cavigram/molding/locked_space.h"
#include "cavigram/molding/release_stretch.h"
#include "cavigram/molding/steep_walls_detail.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram {

namespace {

constexpr double kApart_deg = 15.0;  // two finalists nearer than this are one
constexpr double kSame_deg = 2.0;    // two axes
constexpr std::size_t kAxes = 6;
constexpr std::array kSteps_deg = {2.0, 0.7};
constexpr int kMostMoves = 6;    // of the pattern search, for each step
constexpr int kMostRounds = 12;  // of measuring what came first
// Less does not tell two apart.
constexpr double kStretchStep = 0.1;
constexpr double kLockedStep = 0.01;
constexpr double kSteepStep = 0.05;
constexpr double kShowStep = 0.1;
constexpr double kScoreStep = 0.05;
// Beyond this no rubber gives, and what more it would take tells nothing.
constexpr double kHopeless = 1.0;
// Within half a degree of a coordinate axis a person sets the part up by its own faces.
constexpr double kOnAxis = 0.99996;
// A line is kept with fewer points, as a share of the diagonal.
constexpr double kLineShare = 0.002;
// In the sum that ranks, in vents; guesses.
constexpr double kThirdPart = 20.0;
constexpr double kSlit = 4.0;
constexpr double kWrapped = 1.0;
constexpr double kStretch = 10.0;
constexpr double kLocked = 50.0;
constexpr double kMostLocked = 20.0;
constexpr double kShow = 5.0;
constexpr double kForm = 5.0;
// In the form of the line.
constexpr double kSteepWeight = 0.15;
constexpr double kUprightWeight = 0.1;
constexpr double kOddWeight = 0.05;

// What the first look knows.
struct Glance {
    Vec3 pull = Vec3::UnitZ();
    double locked_mm3 = 0.0;
    double steep_share = 0.0;
    bool axis = false;  // of coordinates or of the part's extent
};

double degrees_between(const Vec3& a, const Vec3& b) {
    return std::acos(std::min(1.0, std::abs(a.dot(b)))) * 180.0 / std::numbers::pi;
}

// Both hemispheres are one: the larger coordinate that is not zero is positive.
Vec3 to_half_sphere(const Vec3& d) {
    const Vec3 unit = d.normalized();
    const bool flip = unit.z() < 0.0 ||
                      (unit.z() == 0.0 && (unit.y() < 0.0 || (unit.y() == 0.0 && unit.x() < 0.0)));
    return flip ? Vec3(-unit) : unit;
}

class Search {
  public:
    Search(const TriMesh& mesh, Proxy proxy, const PullSearchOptions& options,
           const RunContext& context)
        : full_(mesh), options_(options), context_(context) {
        inner_.threads = 1;
        inner_.stop = context.stop;
        found_.proxy_triangles = proxy.mesh.triangles.size();
        found_.proxy_deviation_mm = proxy.deviation_mm;
        index_ = TriangleBvh(proxy.mesh, context);
        coarse_ = proxy.mesh.triangles.size() > options.look_triangles
                      ? decimated_proxy(proxy.mesh, index_, {.triangles = options.look_triangles},
                                        context)
                            .mesh
                      : proxy.mesh;
        gaps_.emplace(coarse_);
        steep_ = detail::SteepWalls(coarse_, options.draft_deg);
        BridgedSurface bridged = bridge_small_tunnels(std::move(proxy.mesh), index_,
                                                      options.thinnest_tongue_mm, context);
        filled_ = std::move(bridged.tunnels);
        surface_ = parting_surface(std::move(bridged.mesh_mm));
        mass_ = mass_properties(surface_.mesh_mm, context);
        diagonal_ = mass_.bounds_mm.diagonal().norm();
        volume_mm3_ = std::abs(mass_.volume_mm3);
        found_.tolerance_mm3 = options.tolerance_share * volume_mm3_;
        hollow_mm3_ = hollows_mm3();
        overlaps_ = overlap_share(coarse_, options.across) > options.tolerance_share;
    }

    PullSearch run() {
        const std::vector<Glance> seen = look();
        std::vector<Glance> candidates = seen;
        if (!options_.only) {
            std::vector<Glance> sorted = seen;
            std::stable_sort(sorted.begin(), sorted.end(),
                             [this](const Glance& a, const Glance& b) { return key(a) < key(b); });
            candidates = apart(seen, sorted);
            refine(candidates);
        }
        drawn_.resize(candidates.size());
        context_.report("parting", 0.0);
        for_blocks(candidates.size(), 1, context_, [&](const Block& block) {
            drawn_[block.begin] = row_of(candidates[block.begin]);
        });
        rank();
        measure_best();
        for (Drawn& one : drawn_) {
            found_.rows.push_back(std::move(one.row));
        }
        return std::move(found_);
    }

  private:
    // Closed cavities are locked for every pull alike.
    [[nodiscard]] double hollows_mm3() const {
        double sum = 0.0;
        const TriMesh& mesh = surface_.mesh_mm;
        for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
            if (surface_.hollow[static_cast<std::size_t>(surface_.shells.of_triangle[t])]) {
                sum -= double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2))
                           .dot(mesh.corner(t, 0) - mass_.centroid_mm) /
                       6.0;
            }
        }
        return sum;
    }

    [[nodiscard]] Glance glance(const Vec3& pull) const {
        const double gaps_mm3 =
            overlaps_
                ? gap_volume_mm3(cut_columns(coarse_, pull, {.across = options_.across}, inner_))
                : gaps_->gap_volume_mm3(pull, options_.across);
        return {pull, std::max(0.0, gaps_mm3 - hollow_mm3_), steep_.share(pull)};
    }

    [[nodiscard]] double upright(const Vec3& pull) const {
        return options_.up ? std::abs(options_.up->normalized().dot(pull)) : 0.0;
    }

    [[nodiscard]] double locked_steps(double locked_mm3) const {
        return locked_mm3 <= found_.tolerance_mm3 ? 0.0 : std::ceil(locked_mm3 / locked_step_mm3_);
    }

    // By what the first look ranks.
    [[nodiscard]] std::tuple<double, double, double> key(const Glance& g) const {
        return std::tuple(locked_steps(g.locked_mm3), std::round(g.steep_share / kSteepStep),
                          std::round(upright(g.pull) / 0.05));
    }

    std::vector<Glance> look() {
        std::vector<Vec3> pulls;
        if (options_.only) {
            pulls.push_back(options_.only->normalized());
            return glances(pulls);
        }
        pulls.reserve(kAxes + static_cast<std::size_t>(options_.directions));
        // Axes first: they win ties.
        for (int i = 0; i < 3; ++i) {
            pulls.push_back(Vec3::Unit(2 - i));
        }
        for (int i = 0; i < 3; ++i) {
            pulls.push_back(to_half_sphere(mass_.principal_axes.col(i)));
        }
        for (const Vec3& d : sphere_directions(2 * options_.directions)) {
            if (d.z() >= 0.0) {
                pulls.push_back(d);
            }
        }
        std::vector<Glance> seen = glances(pulls);
        for (std::size_t i = 0; i < kAxes; ++i) {
            seen[i].axis = true;
        }
        return seen;
    }

    std::vector<Glance> glances(const std::vector<Vec3>& pulls) {
        std::vector<Glance> seen(pulls.size());
        context_.report("pulling", 0.0);
        for_blocks(pulls.size(), 16, context_, [&](const Block& block) {
            for (std::size_t i = block.begin; i < block.end; ++i) {
                seen[i] = glance(pulls[i]);
            }
        });
        found_.looked_at = pulls.size();
        // Where all lock much, a tenth of the least tells no two apart.
        const double least =
            std::min_element(seen.begin(), seen.end(), [](const Glance& a, const Glance& b) {
                return a.locked_mm3 < b.locked_mm3;
            })->locked_mm3;
        locked_step_mm3_ = std::max(kLockedStep * volume_mm3_, 0.1 * least);
        for (const Glance& g : seen) {
            found_.free_directions += g.locked_mm3 <= found_.tolerance_mm3 ? 1 : 0;
        }
        return seen;
    }

    // The axes, which a person finds again on the bench and parts are drawn along, those of the
    // coordinates first; and the best of the others that lie apart. Beside an axis only what locks
    // less than half as much: nobody leans a mold for less.
    [[nodiscard]] std::vector<Glance> apart(const std::vector<Glance>& seen,
                                            const std::vector<Glance>& sorted) const {
        std::vector<Glance> kept;
        const auto near = [&](const Glance& g, const Glance& other) {
            return degrees_between(g.pull, other.pull) < (g.axis ? kSame_deg : kApart_deg) &&
                   (g.axis || !other.axis || other.locked_mm3 <= found_.tolerance_mm3 ||
                    other.locked_mm3 < 2.0 * g.locked_mm3);
        };
        const auto take = [&](const Glance& g) {
            if (std::none_of(kept.begin(), kept.end(),
                             [&](const Glance& other) { return near(g, other); })) {
                kept.push_back(g);
            }
        };
        for (std::size_t i = 0; i < kAxes; ++i) {
            take(seen[i]);
        }
        const std::size_t most = kept.size() + options_.finalists;
        for (const Glance& g : sorted) {
            if (!g.axis && kept.size() < most) {
                take(g);
            }
        }
        return kept;
    }

    // To a neighbor only for a gain that counts; axes stay. A part is not set up for an odd
    // direction that is no better.
    void refine(std::vector<Glance>& candidates) const {
        context_.report("refining", 0.0);
        for_blocks(candidates.size(), 1, context_, [&](const Block& block) {
            Glance& best = candidates[block.begin];
            if (best.axis) {
                return;
            }
            for (const double step : kSteps_deg) {
                for (int move = 0; move < kMostMoves && improve(best, step); ++move) {
                }
            }
        });
    }

    [[nodiscard]] bool improve(Glance& best, double step_deg) const {
        const Frame frame = frame_along(best.pull);
        const double lean = std::tan(step_deg * std::numbers::pi / 180.0);
        const Glance from = best;
        for (int side = 0; side < 8; ++side) {
            const double a = side * std::numbers::pi / 4.0;
            const Glance other = glance(
                to_half_sphere(frame.z + lean * (std::cos(a) * frame.x + std::sin(a) * frame.y)));
            if (key(other) < key(best)) {
                best = other;
            }
        }
        return key(best) < key(from);
    }

    // Which rubber is caught along a pull, and how much it takes to let go.
    struct Hold {
        double locked_mm3 = 0.0;
        double stretch = 0.0;
        int bridges = 0;
        bool third_part = false;
    };
    [[nodiscard]] Hold hold(const TriMesh& mesh, const Vec3& pull, int across) const {
        const ColumnCut cut = cut_columns(mesh, pull, {.across = across}, inner_);
        LockedSpace space = locked_space(cut, {.most_pockets = 8});
        ReleaseStretch stretch = release_stretch(cut, space,
                                                 {.least_mm3 = options_.least_pocket * volume_mm3_,
                                                  .least_mouth_mm = options_.thinnest_tongue_mm});
        detail::leave_out_filled(cut, space, filled_, stretch);
        Hold hold;
        hold.locked_mm3 = space.volume_mm3;
        hold.stretch = stretch.most;
        hold.bridges =
            static_cast<int>(std::count_if(stretch.pockets.begin(), stretch.pockets.end(),
                                           [](const PocketStretch& p) { return p.bridge; }));
        hold.third_part = std::any_of(
            space.pockets.begin(), space.pockets.end(), [this](const LockedPocket& pocket) {
                return pocket.lateral_mm > detail::kFarAside * diagonal_ &&
                       pocket.volume_mm3 >= options_.least_pocket * volume_mm3_;
            });
        return hold;
    }

    // A row, and what its line alone says.
    struct Drawn {
        RankedPull row;
        bool line_valid = false;
        int line_slits = 0;

        void tell(const Hold& hold) {
            PullValue& value = row.value;
            value.stretch = hold.stretch;
            value.third_part = hold.third_part;
            value.valid = line_valid && hold.bridges == 0 && !hold.third_part;
            value.slits = line_slits + hold.bridges + (hold.third_part ? 1 : 0);
        }
    };
    [[nodiscard]] Drawn row_of(const Glance& g) const {
        Drawn drawn;
        RankedPull& row = drawn.row;
        PullValue& value = row.value;
        value.pull = g.pull;
        value.locked_mm3 = g.locked_mm3;
        value.steep_share = g.steep_share;
        value.upright = upright(g.pull);
        const Parting found = parting(surface_, index_, g.pull, {}, inner_);
        drawn.line_valid = found.line.valid;
        drawn.line_slits = found.line.slits;
        drawn.tell(g.locked_mm3 > found_.tolerance_mm3
                       ? hold(surface_.mesh_mm, g.pull, options_.across)
                       : Hold());
        value.wrapped = found.line.wrapped;
        value.loops = static_cast<int>(found.line.loops.size());
        value.shut_offs = found.line.shut_offs;
        value.length_mm = found.length_mm;
        value.off_plane_mm = found.off_plane_mm;
        value.half_height_mm = std::max(found.upper_height_mm, found.lower_height_mm);
        value.show_share =
            options_.show ? share_on_show(found.line, surface_.mesh_mm, *options_.show) : 0.0;
        for (const PartingLoop& loop : found.line.loops) {
            row.line_mm.push_back(thinned_loop(loop.points_mm, kLineShare * diagonal_));
        }
        return drawn;
    }

    // The stand-in smooths away what catches, and opens or closes narrow mouths: what is to be
    // first must be so on the mesh that is molded.
    void measure_best() {
        context_.report("measuring", 0.0);
        std::size_t most = std::min(options_.measured, drawn_.size());
        for (int round = 0; most > 0 && round < kMostRounds; ++round) {
            for_blocks(most, 1, context_, [&](const Block& block) {
                Drawn& one = drawn_[block.begin];
                if (one.row.measured) {
                    return;
                }
                const Hold held = hold(full_, one.row.value.pull, options_.measured_across);
                one.row.measured = true;
                one.row.value.locked_mm3 = std::max(0.0, held.locked_mm3);
                one.tell(held);
            });
            rank();
            if (drawn_.front().row.measured) {
                return;
            }
            most = 1;
        }
    }

    // Of the line and the halves.
    [[nodiscard]] double form(const PullValue& v) const {
        return (v.off_plane_mm + v.half_height_mm + 0.2 * v.length_mm) / diagonal_ +
               kSteepWeight * v.steep_share + kUprightWeight * v.upright +
               (v.pull.cwiseAbs().maxCoeff() < kOnAxis ? kOddWeight : 0.0);
    }

    [[nodiscard]] double score(const PullValue& v) const {
        const int slits = v.slits - (v.third_part ? 1 : 0);
        // Where neither slits nor wrapped solids are why, there is no line to speak of.
        const bool unexplained = !v.valid && slits == 0 && v.wrapped == 0 && !v.third_part;
        return (v.third_part ? kThirdPart : 0.0) + kSlit * (unexplained ? 1 : slits) +
               kWrapped * v.wrapped +
               kStretch * std::max(0.0, std::min(v.stretch, kHopeless) - options_.easy_stretch) +
               std::min(kMostLocked, kLocked * v.locked_mm3 / volume_mm3_) + kShow * v.show_share +
               kForm * form(v);
    }

    // In what they differ.
    [[nodiscard]] std::array<double, 5> respects(const PullValue& v) const {
        return {v.valid ? 0.0 : 1.0 + v.slits,
                v.stretch <= options_.easy_stretch
                    ? 0.0
                    : std::ceil((std::min(v.stretch, kHopeless) - options_.easy_stretch) /
                                kStretchStep),
                std::floor(v.locked_mm3 / locked_step_mm3_), std::round(v.show_share / kShowStep),
                score(v)};
    }

    void rank() {
        std::vector<std::array<double, 5>> all;
        for (Drawn& one : drawn_) {
            one.row.score = score(one.row.value);
            all.push_back(respects(one.row.value));
        }
        for (std::size_t i = 0; i < all.size(); ++i) {
            drawn_[i].row.pareto = std::none_of(all.begin(), all.end(), [&](const auto& other) {
                bool worse = false;
                for (std::size_t k = 0; k < other.size(); ++k) {
                    worse = worse || other[k] > all[i][k];
                }
                return !worse && other != all[i];
            });
        }
        std::stable_sort(drawn_.begin(), drawn_.end(), [](const Drawn& a, const Drawn& b) {
            return std::round(a.row.score / kScoreStep) < std::round(b.row.score / kScoreStep);
        });
        for (std::size_t i = 0; i < drawn_.size(); ++i) {
            drawn_[i].row.rank = static_cast<int>(i) + 1;
        }
    }

    const TriMesh& full_;
    const PullSearchOptions& options_;
    const RunContext& context_;
    RunContext inner_;  // within a direction nothing is split further
    PartingSurface surface_;
    TriangleBvh index_;
    TriMesh coarse_;  // for the first look
    std::optional<GapGlance> gaps_;
    detail::SteepWalls steep_;
    std::vector<SmallTunnel> filled_;
    MassProperties mass_;
    double diagonal_ = 0.0;
    double volume_mm3_ = 0.0;
    double hollow_mm3_ = 0.0;
    bool overlaps_ = false;  // the quick look would miss gaps
    double locked_step_mm3_ = 0.0;
    std::vector<Drawn> drawn_;
    PullSearch found_;
};

void check(const PullSearchOptions& options) {
    if (options.directions < 1 || options.finalists < 1) {
        throw InvalidInput("A search for the pull direction takes one direction or more.");
    }
    if (options.up && !(options.up->squaredNorm() > 0.0)) {
        throw InvalidInput("The way up must not be zero.");
    }
    if (options.only && (!(options.only->squaredNorm() > 0.0) || !options.only->allFinite())) {
        throw InvalidInput("The pull direction must not be zero.");
    }
    if (options.show) {
        validate(*options.show);
    }
}

}  // namespace

PullSearch search_pull(const TriMesh& mesh_mm, const TriangleBvh& index,
                       const PullSearchOptions& options, const RunContext& context) {
    check(options);
    return search_pull(
        mesh_mm, decimated_proxy(mesh_mm, index, {.triangles = options.proxy_triangles}, context),
        options, context);
}

PullSearch search_pull(const TriMesh& mesh_mm, Proxy stand_in, const PullSearchOptions& options,
                       const RunContext& context) {
    check(options);
    return Search(mesh_mm, std::move(stand_in), options, context).run();
}

double share_on_show(const PartingLine& line, const TriMesh& mesh_mm, const ShowSide& show) {
    double on_it = 0.0;
    double length = 0.0;
    for (const PartingLoop& loop : line.loops) {
        for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
            const Vec3& p = loop.points_mm[i];
            const Vec3& q = loop.points_mm[(i + 1) % loop.points_mm.size()];
            const auto t = static_cast<std::size_t>(loop.faces[i]);
            const bool seen =
                show.box_mm
                    ? show.box_mm->contains(0.5 * (p + q))
                    : looks_toward(double_area_vector(mesh_mm.corner(t, 0), mesh_mm.corner(t, 1),
                                                      mesh_mm.corner(t, 2)),
                                   *show.toward);
            length += (q - p).norm();
            on_it += seen ? (q - p).norm() : 0.0;
        }
    }
    return length > 0.0 ? on_it / length : 0.0;
}

}  // namespace cavigram
