// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/orientations.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numeric>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/geom/directions.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/pour/thin_arrival.h"
#include "cavigram/pour/way_order_detail.h"
#include "cavigram/pour/way_scorer_detail.h"
#include "cavigram/spatial/proxy.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/vents.h"

namespace cavigram {

using detail::degrees_between;
using detail::kHeightStep_mm;
using detail::kSides;
using detail::leaned;
using detail::limit_of;
using detail::WayOrder;
using detail::WayScorer;

namespace {

constexpr std::size_t kKept = 24;    // candidates of the first look that are leaned
constexpr std::size_t kRefined = 8;  // of these, the ones whose surroundings are searched
constexpr double kApart_deg = 8.0;   // two candidates nearer than this are one
constexpr double kSame_deg = 3.0;    // nobody levels a mold better: one is the other's twin
constexpr double kTwins_deg = 25.0;  // nearer than this they may be twins, if they come to the same
constexpr std::array kSteps_deg = {1.5, 0.5, 0.15};
constexpr int kMostMoves = 6;  // of a pattern search, for each step

std::string air_words(double mm3) {
    return told_own(mm3, Kind::volume, 2);
}

std::string vents_text(std::size_t count) {
    return count == 0 ? "no vent" : count == 1 ? "one vent" : fmt::format("{} vents", count);
}

class Search {
  public:
    Search(const AirTreeBuilder& solid, const OrientationOptions& options,
           const RunContext& context)
        : solid_(solid),
          options_(options),
          context_(context),
          mass_(mass_properties(solid.mesh(), context)),
          limit_mm3_(limit_of(options, mass_)),
          order_(std::min(limit_mm3_, default_min_volume_mm3(mass_.volume_mm3)), options.weights) {}

    FoundWays find(Proxy proxy) {
        FoundWays found;
        found.proxy_deviation_mm = proxy.deviation_mm;
        found.coarse = std::make_shared<const AirTreeBuilder>(std::move(proxy.mesh),
                                                              AirTreeOptions{}, context_);
        found.seen = look(*found.coarse);
        found.ways = scored(*found.coarse, directions_of(picked(found.seen)), "leaning", true);
        refine(*found.coarse, found.ways);
        found.looked_at = found_.looked_at;
        return found;
    }

    Orientations rank(const FoundWays& found) {
        found_.proxy_triangles = found.coarse->mesh().triangles.size();
        found_.proxy_deviation_mm = found.proxy_deviation_mm;
        found_.looked_at = found.looked_at;
        for (const WayUp& way : found.seen) {
            found_.scanned.push_back({way.up, way.vented_mm3, way.unvented_mm3});
        }
        order_.scale(found.seen);
        finish(*found.coarse, found.ways);
        found_.limit_mm3 = limit_mm3_;
        found_.lean_deg = options_.lean_deg;
        found_.most_vents = options_.most_vents;
        found_.pour_hole_after = options_.pour_hole_after;
        return std::move(found_);
    }

  private:
    static std::vector<Vec3> directions_of(const std::vector<WayUp>& ways) {
        std::vector<Vec3> ups;
        ups.reserve(ways.size());
        for (const WayUp& way : ways) {
            ups.push_back(way.up);
        }
        return ups;
    }

    // A move away from a way up, toward one that may be better.
    struct Try {
        Vec3 up;
        std::size_t of = 0;
    };

    // What cannot be better than the way up that it moves away from is not looked at to the end.
    // The side to which a lean was worst is the likeliest to say so.
    std::vector<WayUp> tried(const AirTreeBuilder& solid, const std::vector<Try>& tries,
                             const std::vector<WayUp>& ways, std::vector<int>& worst_side) {
        std::vector<WayUp> results(tries.size());
        std::vector<int> sides(tries.size());
        context_.report("refining", 0.0);
        for_blocks(tries.size(), 1, context_, [&](const Block& block) {
            const std::size_t i = block.begin;
            const WayUp& now = ways[tries[i].of];
            sides[i] = worst_side[tries[i].of];
            results[i] = WayScorer(solid, options_, limit_mm3_, mass_.centroid_mm)
                             .full_if(tries[i].up, sides[i],
                                      [&](const WayUp& way) { return improves(way, now); });
        });
        for (std::size_t i = 0; i < tries.size(); ++i) {
            worst_side[tries[i].of] = sides[i];
        }
        found_.looked_at += tries.size() * (1 + kSides);
        return results;
    }

    std::vector<WayUp> scored(const AirTreeBuilder& solid, const std::vector<Vec3>& ups,
                              const char* phase, bool lean) {
        std::vector<WayUp> ways(ups.size());
        context_.report(phase, 0.0);
        for_blocks(ups.size(), lean ? 1 : 16, context_, [&](const Block& block) {
            WayScorer scorer(solid, options_, limit_mm3_, mass_.centroid_mm);
            for (std::size_t i = block.begin; i < block.end; ++i) {
                ways[i] = lean ? scorer.full(ups[i]) : scorer.glance(ups[i]);
            }
        });
        found_.looked_at += ups.size() * (lean ? 1 + kSides : 1);
        return ways;
    }

    std::vector<WayUp> look(const AirTreeBuilder& coarse) {
        std::vector<Vec3> ups = sphere_directions(options_.directions);
        for (int i = 0; i < 3; ++i) {
            for (const double sign : {1.0, -1.0}) {
                ups.push_back(sign * Vec3::Unit(i));
                ups.push_back(sign * mass_.principal_axes.col(i));
            }
        }
        std::vector<WayUp> seen = scored(coarse, ups, "turning", false);
        order_.scale(seen);
        return seen;
    }

    // Best first, none near a better one; the front of all comes before the rest.
    [[nodiscard]] std::vector<WayUp> picked(const std::vector<WayUp>& seen) const {
        std::vector<WayUp> sorted = seen;
        std::sort(sorted.begin(), sorted.end(),
                  [&](const WayUp& a, const WayUp& b) { return order_.better(a, b); });
        std::vector<WayUp> chosen;
        const auto take = [&](const WayUp& way, std::size_t most) {
            const bool new_one = std::none_of(chosen.begin(), chosen.end(), [&](const WayUp& k) {
                return degrees_between(k.up, way.up) < kApart_deg;
            });
            if (new_one && chosen.size() < most) {
                chosen.push_back(way);
            }
        };
        const std::vector<char> front = order_.front(sorted);
        for (std::size_t i = 0; i < sorted.size(); ++i) {
            if (front[i] != 0) {
                take(sorted[i], kKept / 2);
            }
        }
        for (const WayUp& way : sorted) {
            take(way, kKept);
        }
        return chosen;
    }

    // Pattern search around the best, all of them a move at a time.
    void refine(const AirTreeBuilder& coarse, std::vector<WayUp>& ways) {
        sort(ways);
        const std::size_t count = std::min(kRefined, ways.size());
        std::vector<int> worst_side(count, 0);
        for (const double step : kSteps_deg) {
            std::vector<char> moving(count, 1);
            for (int move = 0; move < kMostMoves; ++move) {
                std::vector<Try> tries;
                for (std::size_t i = 0; i < count; ++i) {
                    for (int k = 0; k < kSides && moving[i] != 0; k += 2) {
                        tries.push_back({leaned(ways[i].up, step, k), i});
                    }
                }
                const std::vector<WayUp> results = tried(coarse, tries, ways, worst_side);
                std::fill(moving.begin(), moving.end(), 0);
                for (std::size_t j = 0; j < results.size(); ++j) {
                    if (improves(results[j], ways[tries[j].of])) {
                        ways[tries[j].of] = results[j];
                        moving[tries[j].of] = 1;
                    }
                }
            }
        }
        sort(ways);
    }

    // A move must gain something that counts: else an axis would be left for an odd direction.
    [[nodiscard]] bool improves(const WayUp& a, const WayUp& b) const {
        return order_.key(a) < order_.key(b);
    }

    void sort(std::vector<WayUp>& ways) const {
        std::sort(ways.begin(), ways.end(),
                  [&](const WayUp& a, const WayUp& b) { return order_.better(a, b); });
    }

    // Those for the full mesh: the best, none near another or the user's own, scored anyway.
    [[nodiscard]] std::vector<Vec3> finalists(const AirTreeBuilder& coarse,
                                              const std::vector<WayUp>& ways) const {
        const std::vector<char> front = order_.front(ways);
        std::optional<WayUp> own;
        if (options_.asked) {
            own = WayScorer(coarse, options_, limit_mm3_, mass_.centroid_mm)
                      .full(options_.asked->normalized());
        }
        std::vector<WayUp> taken;
        const auto take = [&](const WayUp& way) {
            const bool new_one = std::none_of(taken.begin(), taken.end(), [&](const WayUp& other) {
                return degrees_between(other.up, way.up) < kApart_deg || twins(other, way);
            });
            const bool is_own =
                own && (degrees_between(own->up, way.up) < kSame_deg || twins(*own, way));
            if (new_one && !is_own && taken.size() < options_.finalists) {
                taken.push_back(way);
            }
        };
        for (const bool on_front : {true, false}) {
            for (std::size_t i = 0; i < ways.size(); ++i) {
                // The user's weights settle what is best; without, the front comes before the rest.
                if (options_.weights || (front[i] != 0) == on_front) {
                    take(ways[i]);
                }
            }
        }
        return directions_of(taken);
    }

    // Whether two ways up that lean to different sides come to the same, so that a person would
    // not tell one from the other: as on a part that looks the same when it is turned about.
    [[nodiscard]] bool twins(const WayUp& a, const WayUp& b) const {
        constexpr double kAlike = 0.2;    // of the air
        constexpr double kAsHigh = 0.02;  // of the height
        const double air = std::max(a.worst_vented_mm3, b.worst_vented_mm3);
        return degrees_between(a.up, b.up) < kTwins_deg && a.vents_needed == b.vents_needed &&
               a.holes_on_show == b.holes_on_show &&
               std::abs(a.worst_vented_mm3 - b.worst_vented_mm3) <=
                   std::max(order_.step_mm3(), kAlike * air) &&
               std::abs(a.height_mm - b.height_mm) <=
                   std::max(kHeightStep_mm, kAsHigh * std::max(a.height_mm, b.height_mm));
    }

    // Indices of the rows from the best to the worst; those from `searched` on are the user's own.
    [[nodiscard]] std::vector<std::size_t> ranked(const std::vector<RankedWayUp>& rows,
                                                  std::size_t searched) const {
        const auto key = [&](std::size_t i) {
            return options_.weights ? std::array<double, 4>{rows[i].score, 0.0, 0.0, 0.0}
                                    : order_.key(rows[i].value);
        };
        std::vector<std::size_t> sorted(rows.size());
        std::iota(sorted.begin(), sorted.end(), std::size_t{0});
        std::sort(sorted.begin(), sorted.end(), [&](std::size_t i, std::size_t j) {
            // Where nothing that counts tells them apart, the user's own goes first.
            const auto p = key(i);
            const auto q = key(j);
            return p != q                           ? p < q
                   : i >= searched || j >= searched ? i > j
                                                    : order_.better(rows[i].value, rows[j].value);
        });
        return sorted;
    }

    // By what rules the holes of the finalists are placed.
    [[nodiscard]] HoleRules hole_rules() const {
        if (options_.holes) {
            return *options_.holes;
        }
        HoleRules rules;
        rules.given.pour_hole_after = options_.pour_hole_after;
        rules.most_vents = options_.most_vents;
        rules.show = options_.show;
        return rules;
    }

    void finish(const AirTreeBuilder& coarse, const std::vector<WayUp>& ways) {
        std::vector<Vec3> ups = finalists(coarse, ways);
        const std::size_t searched = ups.size();
        if (options_.asked) {
            ups.push_back(options_.asked->normalized());
        }
        std::vector<RankedWayUp> rows(ups.size());
        std::vector<WayUp> finals(ups.size());
        const HoleRules rules = hole_rules();
        constexpr std::size_t kThinSamples = 4000;
        const std::vector<ThinSample> thin =
            thin_samples(thickness_map(coarse.mesh(), adjacency(coarse.mesh()), coarse.bvh(),
                                       {.samples = kThinSamples}, context_),
                         mass_.volume_mm3);
        context_.report("checking", 0.0);
        for_blocks(ups.size(), 1, context_, [&](const Block& block) {
            const std::size_t i = block.begin;
            finals[i] = WayScorer(solid_, options_, limit_mm3_, mass_.centroid_mm)
                            .with_holes(ups[i], rules, rows[i].holes);
            WayScorer scorer(coarse, options_, limit_mm3_, mass_.centroid_mm);
            rows[i].lean_deg = scorer.forgiving_deg(ups[i]);
            rows[i].path_mm = scorer.path_mm(rows[i].holes);
            rows[i].thin_arrival_share =
                arrival_share(HeightVolume(coarse.mesh(), ups[i], context_), thin);
        });
        found_.looked_at += ups.size() * (1 + kSides);
        const std::vector<char> best = order_.front(finals);
        order_.scale_rows(rows);
        for (std::size_t i = 0; i < rows.size(); ++i) {
            rows[i].value = finals[i];
            rows[i].pareto = best[i] != 0;
            rows[i].asked = i >= searched;
            rows[i].score = order_.score(rows[i]);
        }
        for (const std::size_t i : ranked(rows, searched)) {
            found_.rows.push_back(rows[i]);
            found_.rows.back().rank = static_cast<int>(found_.rows.size());
        }
        for (RankedWayUp& row : found_.rows) {
            row.reasons = reasons(row);
        }
    }

    [[nodiscard]] std::vector<std::string> reasons(const RankedWayUp& row) const {
        const WayUp& way = row.value;
        const WayUp& best = found_.rows.front().value;
        std::vector<std::string> words;
        if (way.vents_made == 0 && way.unvented_mm3 <= limit_mm3_) {
            words.push_back("needs no vent: " +
                            (way.unvented_mm3 > 0.0 ? "only " + air_words(way.unvented_mm3)
                                                    : std::string("no air")) +
                            " stays");
        } else {
            const std::string left =
                way.vented_mm3 > 0.0 ? air_words(way.vented_mm3) + " of" : std::string("no");
            words.push_back(
                vents_text(way.vents_made) + (way.vents_made == 1 ? " leaves " : " leave ") +
                (options_.pour_hole_after == PourHoleAfter::vented
                     ? air_words(way.vented_mm3) + " of " + air_words(way.unvented_mm3) + " of air"
                     : left + " air, the highest place vented too"));
            if (way.vents_needed > way.vents_made) {
                words.push_back(fmt::format("{} would be needed to leave {}", way.vents_needed,
                                            air_words(limit_mm3_)));
            }
        }
        words.push_back(
            fmt::format("a mold that leans {:g} degrees keeps {} at worst", options_.lean_deg,
                        way.worst_vented_mm3 > 0.0 ? air_words(way.worst_vented_mm3) : "no air"));
        if (options_.show) {
            words.push_back(way.holes_on_show == 0 ? "the show side stays clean"
                                                   : fmt::format("{} of its holes on the show side",
                                                                 way.holes_on_show));
        }
        words.push_back(told_own(way.height_mm, Kind::length, 3) + " high");
        words.push_back(
            "takes up " + told_end(way.footing.block_length_mm, Kind::length, 3) + " x " +
            told_own(way.footing.block_width_mm, Kind::length, 3) +
            (way.footing.stands() ? ", stands by itself" : ", would not stand by itself"));
        if (options_.pour_hole_after != PourHoleAfter::none) {
            words.push_back("the farthest place is " + told_own(row.path_mm, Kind::length, 2) +
                            " from the pour hole along the surface");
        }
        if (options_.weights && options_.weights->of(WayMeasure::arrival) > 0.0 &&
            row.thin_arrival_share) {
            words.push_back(fmt::format(
                "foam gets to the thinnest tenth when the mold is {:.0f} % full on average",
                100.0 * *row.thin_arrival_share));
        }
        if (options_.weights) {
            words.insert(
                words.begin(),
                fmt::format("by your weights it scores {}, where 0 is best in all and 1 worst",
                            significant(row.score, 3)));
        } else if (row.rank > 1) {
            words.push_back(behind(way, best));
        }
        return words;
    }

    // Why a row does not come first: the first respect in which the best is better.
    [[nodiscard]] std::string behind(const WayUp& way, const WayUp& best) const {
        const auto p = order_.respects(way);
        const auto q = order_.respects(best);
        const char* const words[] = {
            "more air than the first choice", "more holes on the show side than the first choice",
            "more vents than the first choice", "higher than the first choice"};
        for (std::size_t i = 0; i < p.size(); ++i) {
            if (p[i] > q[i]) {
                return words[i];
            }
        }
        return "as good as the first choice";
    }

    const AirTreeBuilder& solid_;
    const OrientationOptions& options_;
    const RunContext& context_;
    MassProperties mass_;
    double limit_mm3_;
    WayOrder order_;
    Orientations found_;
};

void check(const OrientationOptions& options) {
    const auto bad = [](const Vec3& v) { return !v.allFinite() || v.squaredNorm() == 0.0; };
    if (options.asked && bad(*options.asked)) {
        throw InvalidInput("A direction has no length; give one such as 0,0,1.");
    }
    if (options.show) {
        validate(*options.show);
    }
    if (options.pour_hole_after == PourHoleAfter::none && options.weights &&
        options.weights->of(WayMeasure::path) > 0.0) {
        throw InvalidInput(
            "The path from the pour hole is given a weight although there shall be no pour hole; "
            "leave path out of the weights.");
    }
    if (options.directions < 10 || options.finalists < 1 || options.finalists > 9 ||
        !(options.lean_deg >= 0.0) || options.lean_deg > 45.0 ||
        (options.limit_mm3 && !(*options.limit_mm3 > 0.0))) {
        throw InvalidInput(
            "The search for a way up needs 10 or more directions, 1 to 9 finalists, a lean of 0 to "
            "45 degrees and a limit above 0.");
    }
}

}  // namespace

Orientations orientations(const AirTreeBuilder& solid, const OrientationOptions& options,
                          const RunContext& context) {
    return ranked_ways(solid, find_ways(solid, options, context), options, context);
}

FoundWays find_ways(const AirTreeBuilder& solid, const OrientationOptions& options,
                    const RunContext& context) {
    check(options);
    return find_ways(
        solid,
        decimated_proxy(solid.mesh(), solid.bvh(), {.triangles = options.proxy_triangles}, context),
        options, context);
}

FoundWays find_ways(const AirTreeBuilder& solid, Proxy stand_in, const OrientationOptions& options,
                    const RunContext& context) {
    check(options);
    return Search(solid, options, context).find(std::move(stand_in));
}

Orientations ranked_ways(const AirTreeBuilder& solid, const FoundWays& found,
                         const OrientationOptions& options, const RunContext& context) {
    check(options);
    return Search(solid, options, context).rank(found);
}

WayUp way_up(const AirTreeBuilder& solid, const Vec3& up, const OrientationOptions& options) {
    check(options);
    const MassProperties mass = mass_properties(solid.mesh());
    return WayScorer(solid, options, limit_of(options, mass), mass.centroid_mm).full(up);
}

}  // namespace cavigram
