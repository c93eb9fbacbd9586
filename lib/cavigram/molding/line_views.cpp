// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/line_views.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

constexpr std::array kSides = {LineSide::front, LineSide::right, LineSide::back,
                               LineSide::left,  LineSide::above, LineSide::below};

bool from_side(LineSide side) {
    return side != LineSide::above && side != LineSide::below;
}

// The line once more, with places no farther from each other than a step; the corners stay.
struct FineLoop {
    std::vector<Vec3> places_mm;
    std::vector<Vec3> outward;  // of the face there
};

std::vector<FineLoop> fine_loops(const TriMesh& mesh, const Parting& parting, double step_mm) {
    std::vector<FineLoop> loops;
    for (const PartingLoop& loop : parting.line.loops) {
        FineLoop fine;
        for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
            const Vec3& a = loop.points_mm[i];
            const Vec3 way = loop.points_mm[(i + 1) % loop.points_mm.size()] - a;
            const auto face = static_cast<std::size_t>(loop.faces[i]);
            const Vec3 outward =
                double_area_vector(mesh.corner(face, 0), mesh.corner(face, 1), mesh.corner(face, 2))
                    .normalized();
            const auto pieces = std::max(1.0, std::ceil(way.norm() / step_mm));
            for (double k = 0.0; k < pieces; ++k) {
                fine.places_mm.push_back(a + k / pieces * way);
                fine.outward.push_back(outward);
            }
        }
        loops.push_back(std::move(fine));
    }
    return loops;
}

// From before the face, or from before the edge that the place lies on. From the sides a wall that
// is seen edge-on shows no line that could be read; along the pull that is where the line runs.
bool is_seen(const TriangleBvh& surface, const Vec3& p, const Vec3& outward, const Vec3& toward,
             bool along_pull, double hair_mm) {
    constexpr double kEdgeOn = 0.03;  // of 1: 2 degrees
    constexpr double kClear = 0.3;    // of the hair, from the surface
    const auto is_free = [&](const Vec3& from) {
        return surface.first_hit(from, toward).triangle < 0;
    };
    if (outward.dot(toward) > (along_pull ? -kEdgeOn : kEdgeOn) && is_free(p + hair_mm * outward)) {
        return true;
    }
    const Vec3 before = p + hair_mm * toward;
    return is_free(before) &&
           (along_pull || surface.nearest(before).distance_mm > kClear * hair_mm);
}

// Whether each place of a loop is seen. What is seen or hidden over less than a pencil's width is
// taken for what is around it.
std::vector<bool> seen_places(const FineLoop& loop, const TriangleBvh& surface,
                              const LineView& from, double hair_mm, const RunContext& context) {
    const std::size_t count = loop.places_mm.size();
    const bool along = !from_side(from.side);
    std::vector<std::uint8_t> seen(count);
    for_blocks(count, 256, context, [&](const Block& block) {
        for (std::size_t i = block.begin; i < block.end; ++i) {
            seen[i] = is_seen(surface, loop.places_mm[i], loop.outward[i], from.view.toward, along,
                              hair_mm);
        }
    });
    std::vector<bool> calm(count);
    for (std::size_t i = 0; i < count; ++i) {
        int votes = 0;
        for (std::size_t k = 0; k < 5; ++k) {
            votes += seen[(i + count + k - 2) % count] != 0 ? 1 : -1;
        }
        calm[i] = votes > 0;
    }
    return calm;
}

// One side, before its marks.
struct Seen {
    LineView view;
    std::vector<std::vector<bool>> places;  // of each loop: whether it is seen
};

double piece_mm(const FineLoop& loop, std::size_t i) {
    return (loop.places_mm[(i + 1) % loop.places_mm.size()] - loop.places_mm[i]).norm();
}

// What is marked in `more` of a loop and not in `before`.
double gain_mm(const FineLoop& loop, const std::vector<bool>& before,
               const std::vector<bool>& more) {
    double gain = 0.0;
    for (std::size_t i = 0; i < loop.places_mm.size(); ++i) {
        gain += more[i] && !before[i] ? piece_mm(loop, i) : 0.0;
    }
    return gain;
}

void take(std::vector<bool>& all, const std::vector<bool>& more) {
    for (std::size_t i = 0; i < all.size(); ++i) {
        all[i] = all[i] || more[i];
    }
}

// A loop cut where it goes from seen to hidden and back; the pieces share their ends.
void add_stretches(LineView& view, const FineLoop& loop, const std::vector<bool>& seen) {
    const std::size_t count = seen.size();
    std::size_t start = 0;
    while (start < count && seen[start] == seen[(start + count - 1) % count]) {
        ++start;
    }
    start = start == count ? 0 : start;
    LineStretch stretch{{}, seen[start]};
    for (std::size_t k = 0; k < count; ++k) {
        const std::size_t i = (start + k) % count;
        if (seen[i] != stretch.seen) {
            stretch.points_mm.push_back(loop.places_mm[i]);
            view.stretches.push_back(std::exchange(stretch, {{}, seen[i]}));
        }
        stretch.points_mm.push_back(loop.places_mm[i]);
        view.seen_mm += seen[i] ? piece_mm(loop, i) : 0.0;
    }
    stretch.points_mm.push_back(loop.places_mm[start]);
    view.stretches.push_back(std::move(stretch));
}

View view_of(LineSide side, const View& front, const Vec3& pull) {
    if (!from_side(side)) {
        return side == LineSide::above ? view_from(pull, -front.toward)
                                       : view_from(-pull, front.toward);
    }
    View view = front;
    for (auto turned = LineSide::front; turned != side;
         turned = static_cast<LineSide>(static_cast<int>(turned) + 1)) {
        view = quarter_turned(view);
    }
    return view;
}

// ---- marks --------------------------------------------------------------------------------------

// Puts marks on one stretch that is seen.
class Marker {
  public:
    Marker(const LineView& view, const Vec3& pull, double table_mm, double left_mm,
           double spacing_mm)
        : view_(view), pull_(pull), table_mm_(table_mm), left_mm_(left_mm), spacing_(spacing_mm) {}

    std::vector<HeightMark> marks(const std::vector<Vec3>& points) {
        marks_.clear();
        const bool aside = from_side(view_.side);
        add(points.front());
        const std::size_t low = extreme(points, -1.0);
        const std::size_t high = extreme(points, 1.0);
        for (std::size_t i = 1; i < points.size(); ++i) {
            if (aside) {
                crossings(points[i - 1], points[i]);
            }
            since_mm_ += (points[i] - points[i - 1]).norm();
            if (since_mm_ >= (aside ? 2.0 : 1.0) * spacing_ || i == low || i == high) {
                add(points[i]);
            }
        }
        add(points.back());
        return without_level_ones(std::move(marks_));
    }

  private:
    // Where the line is level for long one mark in five will do; it is told by those at both ends.
    static std::vector<HeightMark> without_level_ones(std::vector<HeightMark> all) {
        constexpr double kLevel_mm = 0.05;
        constexpr int kOneIn = 5;
        std::vector<HeightMark> kept;
        int left_out = 0;
        for (std::size_t i = 0; i < all.size(); ++i) {
            const bool inner = i > 0 && i + 1 < all.size();
            if (inner && std::abs(all[i].height_mm - all[i - 1].height_mm) < kLevel_mm &&
                std::abs(all[i + 1].height_mm - all[i].height_mm) < kLevel_mm &&
                ++left_out < kOneIn) {
                continue;
            }
            left_out = 0;
            kept.push_back(all[i]);
        }
        return kept;
    }

    [[nodiscard]] double across(const Vec3& p) const { return view_.view.right.dot(p) - left_mm_; }

    [[nodiscard]] std::size_t extreme(const std::vector<Vec3>& points, double sign) const {
        const auto found =
            std::max_element(points.begin(), points.end(), [&](const Vec3& a, const Vec3& b) {
                return sign * pull_.dot(a) < sign * pull_.dot(b);
            });
        return static_cast<std::size_t>(found - points.begin());
    }

    // Where the piece from a to b crosses whole multiples of the spacing.
    void crossings(const Vec3& a, const Vec3& b) {
        const double from = across(a) / spacing_;
        const double to = across(b) / spacing_;
        if (std::floor(from) == std::floor(to)) {
            return;
        }
        const double line = std::max(std::floor(from), std::floor(to));
        add(a + (line - from) / (to - from) * (b - a));
    }

    // Unless it would stand on the last one.
    void add(const Vec3& p) {
        constexpr double kCrowded = 0.3;  // of the spacing
        if (!marks_.empty() && (p - marks_.back().at_mm).norm() < kCrowded * spacing_) {
            return;
        }
        marks_.push_back({p, pull_.dot(p) - table_mm_});
        since_mm_ = 0.0;
    }

    const LineView& view_;
    Vec3 pull_;
    double table_mm_;
    double left_mm_;
    double spacing_;
    double since_mm_ = 0.0;
    std::vector<HeightMark> marks_;
};

double spacing_for(double width_mm) {
    constexpr std::array<std::pair<double, double>, 3> kUpTo = {
        {{80.0, 5.0}, {300.0, 10.0}, {700.0, 20.0}}};
    for (const auto& [most_mm, spacing_mm] : kUpTo) {
        if (width_mm <= most_mm) {
            return spacing_mm;
        }
    }
    return 50.0;
}

// Lowest and highest place of the mesh along a direction.
std::pair<double, double> extent(const TriMesh& mesh, const Vec3& along) {
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Vec3& v : mesh.vertices) {
        low = std::min(low, along.dot(v));
        high = std::max(high, along.dot(v));
    }
    return {low, high};
}

// Chooses the front and the sides that it takes beside it. What lies along the pull comes last, as
// no height gauge is seen at work from there: for loops of which the sides show less than half, as
// those in holes, even short ones.
class SideChoice {
  public:
    SideChoice(const std::vector<Seen>& all, const std::vector<FineLoop>& loops)
        : all_(all), loops_(loops), taken_(all.size(), false) {
        for (const FineLoop& loop : loops) {
            shown_.emplace_back(loop.places_mm.size(), false);
            whole_mm_.push_back(
                gain_mm(loop, shown_.back(), std::vector<bool>(loop.places_mm.size(), true)));
        }
        left_mm_ = whole_mm_;
        take_side(0);
        constexpr double kSideWorthIt = 0.03;  // of the line
        constexpr double kHoleWorthIt = 0.003;
        take_while(Those::sides, kSideWorthIt);
        take_while(Those::along_pull, kSideWorthIt);
        take_while(Those::along_pull_for_hidden, kHoleWorthIt);
    }

    [[nodiscard]] bool taken(std::size_t s) const { return taken_[s]; }
    // Of the line, what none of those taken shows.
    [[nodiscard]] double unseen_mm() const {
        return std::accumulate(left_mm_.begin(), left_mm_.end(), 0.0,
                               [](double sum, double mm) { return sum + std::max(0.0, mm); });
    }

  private:
    enum class Those { sides, along_pull, along_pull_for_hidden };

    // What a side would show more, of all loops or of those that are mostly hidden yet.
    [[nodiscard]] double gain(std::size_t s, bool of_hidden) const {
        constexpr double kHalf = 0.5;
        double sum = 0.0;
        for (std::size_t l = 0; l < loops_.size(); ++l) {
            if (!of_hidden || left_mm_[l] > kHalf * whole_mm_[l]) {
                sum += gain_mm(loops_[l], shown_[l], all_[s].places[l]);
            }
        }
        return sum;
    }

    void take_side(std::size_t s) {
        taken_[s] = true;
        for (std::size_t l = 0; l < loops_.size(); ++l) {
            left_mm_[l] -= gain_mm(loops_[l], shown_[l], all_[s].places[l]);
            take(shown_[l], all_[s].places[l]);
        }
    }

    // The one that shows most; of those about alike the earlier. 0: none shows so much.
    [[nodiscard]] std::size_t best(Those those, double least_mm) const {
        constexpr double kClearly = 1.05;
        std::size_t found = 0;
        double most_mm = least_mm;
        for (std::size_t s = 1; s < all_.size(); ++s) {
            if (taken_[s] || from_side(all_[s].view.side) != (those == Those::sides)) {
                continue;
            }
            const double more_mm = gain(s, those == Those::along_pull_for_hidden);
            if (more_mm > most_mm) {
                most_mm = kClearly * more_mm;
                found = s;
            }
        }
        return found;
    }

    void take_while(Those those, double share) {
        const double least_mm = share * std::accumulate(whole_mm_.begin(), whole_mm_.end(), 0.0);
        for (std::size_t s = best(those, least_mm); s != 0; s = best(those, least_mm)) {
            take_side(s);
        }
    }

    const std::vector<Seen>& all_;
    const std::vector<FineLoop>& loops_;
    std::vector<std::vector<bool>> shown_;  // of each loop, by those taken
    std::vector<double> whole_mm_;          // of each loop
    std::vector<double> left_mm_;
    std::vector<bool> taken_;
};

}  // namespace

const char* to_text(LineSide side) {
    switch (side) {
        case LineSide::front:
            return "front";
        case LineSide::right:
            return "right";
        case LineSide::back:
            return "back";
        case LineSide::left:
            return "left";
        case LineSide::above:
            return "above";
        case LineSide::below:
            return "below";
    }
    return "";
}

LineViews line_views(const TriMesh& mesh_mm, const TriangleBvh& surface, const Parting& parting,
                     const LineViewOptions& options, const RunContext& context) {
    if (options.spacing_mm && !(*options.spacing_mm > 0.0)) {
        throw InvalidInput("The marks of the parting line need a spacing above 0.");
    }
    LineViews result;
    const Vec3& pull = parting.pull;
    const View front = widest_view(mesh_mm, pull);
    const auto [left, right] = extent(mesh_mm, front.right);
    result.table_mm = extent(mesh_mm, pull).first;
    result.spacing_mm = options.spacing_mm.value_or(spacing_for(right - left));
    result.length_mm = parting.length_mm;
    if (parting.line.loops.empty()) {
        return result;
    }
    const double diagonal = surface.bounds_mm().diagonal().norm();
    const double step_mm = std::clamp(diagonal / 400.0, 0.1, 1.0);
    const double hair_mm = 5e-4 * diagonal;
    const std::vector<FineLoop> loops = fine_loops(mesh_mm, parting, step_mm);
    std::vector<Seen> all;
    for (const LineSide side : kSides) {
        context.report("parting line", static_cast<double>(all.size()) / kSides.size());
        Seen seen;
        seen.view.side = side;
        seen.view.view = view_of(side, front, pull);
        for (const FineLoop& loop : loops) {
            seen.places.push_back(seen_places(loop, surface, seen.view, hair_mm, context));
            add_stretches(seen.view, loop, seen.places.back());
        }
        all.push_back(std::move(seen));
    }
    const SideChoice choice(all, loops);
    result.unseen_mm = choice.unseen_mm();
    for (std::size_t s = 0; s < all.size(); ++s) {
        if (!choice.taken(s)) {
            continue;
        }
        LineView& view = all[s].view;
        Marker marker(view, pull, result.table_mm, extent(mesh_mm, view.view.right).first,
                      result.spacing_mm);
        for (const LineStretch& stretch : view.stretches) {
            if (stretch.seen) {
                const std::vector<HeightMark> marks = marker.marks(stretch.points_mm);
                view.marks.insert(view.marks.end(), marks.begin(), marks.end());
            }
        }
        result.views.push_back(std::move(view));
    }
    return result;
}

}  // namespace cavigram
