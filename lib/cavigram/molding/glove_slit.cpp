// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/glove_slit.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <queue>
#include <utility>

#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

constexpr double kShowFactor = 10.0;

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

class Finder {
  public:
    Finder(const TriMesh& mesh, const std::optional<ShowSide>& show)
        : mesh_(mesh), seen_(mesh.vertices.size()), first_(mesh.vertices.size() + 1) {
        // In a closed mesh each edge is met once from either end.
        for (const Triangle& t : mesh.triangles) {
            for (const std::int32_t v : t) {
                ++first_[at(v) + 1];
            }
        }
        for (std::size_t v = 0; v + 1 < first_.size(); ++v) {
            first_[v + 1] += first_[v];
        }
        next_.resize(first_.back());
        std::vector<std::size_t> place(first_.begin(), first_.end() - 1);
        for (const Triangle& t : mesh.triangles) {
            for (std::size_t i = 0; i < 3; ++i) {
                next_[place[at(t[i])]++] = t[(i + 1) % 3];
            }
        }
        if (show) {
            find_seen(*show);
        }
    }

    [[nodiscard]] std::optional<GloveSlit> run(const Vec3& away, double rim_mm, double up_to_mm) {
        std::vector<double> cost(mesh_.vertices.size(), std::numeric_limits<double>::infinity());
        std::vector<std::int32_t> from(mesh_.vertices.size(), -1);
        using Reached = std::pair<double, std::int32_t>;  // ties by index
        std::priority_queue<Reached, std::vector<Reached>, std::greater<>> front;
        for (std::size_t v = 0; v < cost.size(); ++v) {
            if (mesh_.vertices[v].dot(away) <= rim_mm) {
                cost[v] = 0.0;
                front.emplace(0.0, static_cast<std::int32_t>(v));
            }
        }
        while (!front.empty()) {
            const auto [here, v] = front.top();
            front.pop();
            if (here > cost[at(v)]) {
                continue;
            }
            if (mesh_.vertices[at(v)].dot(away) >= up_to_mm) {
                if (from[at(v)] < 0) {
                    return std::nullopt;  // the rim itself: nothing to cut
                }
                return traced(v, from);
            }
            for (std::size_t i = first_[at(v)]; i < first_[at(v) + 1]; ++i) {
                const std::int32_t n = next_[i];
                const double there = here + length_mm(v, n) * (on_show(v, n) ? kShowFactor : 1.0);
                if (there < cost[at(n)]) {
                    cost[at(n)] = there;
                    from[at(n)] = v;
                    front.emplace(there, n);
                }
            }
        }
        return std::nullopt;
    }

  private:
    // Vertices at a face that is seen.
    void find_seen(const ShowSide& show) {
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const bool looks =
                show.toward &&
                looks_toward(
                    double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2)),
                    *show.toward);
            for (const std::int32_t v : mesh_.triangles[t]) {
                seen_[at(v)] = seen_[at(v)] || looks ||
                               (show.box_mm && show.box_mm->contains(mesh_.vertices[at(v)]));
            }
        }
    }

    [[nodiscard]] double length_mm(std::int32_t a, std::int32_t b) const {
        return (mesh_.vertices[at(b)] - mesh_.vertices[at(a)]).norm();
    }
    [[nodiscard]] bool on_show(std::int32_t a, std::int32_t b) const {
        return seen_[at(a)] && seen_[at(b)];
    }

    [[nodiscard]] GloveSlit traced(std::int32_t end, const std::vector<std::int32_t>& from) const {
        GloveSlit slit;
        double shown = 0.0;
        for (std::int32_t v = end; v >= 0; v = from[at(v)]) {
            slit.points_mm.push_back(mesh_.vertices[at(v)]);
            const std::int32_t before = from[at(v)];
            if (before >= 0) {
                slit.length_mm += length_mm(v, before);
                shown += on_show(v, before) ? length_mm(v, before) : 0.0;
            }
        }
        std::reverse(slit.points_mm.begin(), slit.points_mm.end());
        slit.show_share = slit.length_mm > 0.0 ? shown / slit.length_mm : 0.0;
        return slit;
    }

    const TriMesh& mesh_;
    std::vector<bool> seen_;
    std::vector<std::size_t> first_;  // of each vertex's neighbors, and one past the last
    std::vector<std::int32_t> next_;
};

}  // namespace

std::optional<GloveSlit> glove_slit(const TriMesh& mesh_mm, const Vec3& away, double rim_mm,
                                    double up_to_mm, const std::optional<ShowSide>& show) {
    return Finder(mesh_mm, show).run(away, rim_mm, up_to_mm);
}

}  // namespace cavigram
