// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/tree_comparison.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/venting/air_tree_detail.h"

namespace cavigram {

using detail::at;

namespace {

struct Piece {
    Vec3 peak_mm;
    double peak_height_mm;
    double saddle_height_mm;
    double volume_mm3;
    double significance_mm3;  // the lesser of its volume and of the largest that it meets
};

// A tree's arcs as chains: only arcs of some size count, and saddles where something smaller joins
// are passed over. Chains no higher than `level_mm` are passed over too, as the columns cannot tell
// such saddles apart, and the pieces on both count as meeting in one.
class Chains {
  public:
    Chains(const std::vector<AirTree::Arc>& arcs, double least_mm3, double level_mm)
        : arcs_(arcs),
          least_mm3_(least_mm3),
          level_mm_(level_mm),
          children_(arcs.size(), 0),
          top_(arcs.size()),
          meets_on_(arcs.size()) {
        count_children();
        find_meetings();
    }

    // Whether arc i ends a piece that meets others.
    [[nodiscard]] bool is_piece(std::size_t i) const {
        return large(i) && ends_chain(i) && !low(i);
    }
    // The arc on which the piece that ends on i meets others.
    [[nodiscard]] std::int32_t meets_on(std::size_t i) const {
        return at(meets_on_, arcs_[i].parent);
    }

  private:
    [[nodiscard]] bool large(std::size_t i) const { return arcs_[i].volume_mm3 >= least_mm3_; }
    [[nodiscard]] bool ends_chain(std::size_t i) const {
        return arcs_[i].parent >= 0 && at(children_, arcs_[i].parent) > 1;
    }
    [[nodiscard]] bool low(std::size_t i) const {
        return top_[i] - arcs_[i].saddle_height_mm <= level_mm_;
    }

    void count_children() {
        for (std::size_t i = 0; i < arcs_.size(); ++i) {
            if (children_[i] == 0) {
                top_[i] = arcs_[i].peak_height_mm;
            } else if (children_[i] > 1) {
                top_[i] = arcs_[i].top_height_mm;
            }  // else it has come from the one child
            if (large(i) && arcs_[i].parent >= 0) {
                ++at(children_, arcs_[i].parent);
                at(top_, arcs_[i].parent) = top_[i];
            }
        }
    }

    // Where a piece that ends on arc i really meets others: parents come last.
    void find_meetings() {
        for (std::size_t i = arcs_.size(); i-- > 0;) {
            meets_on_[i] = static_cast<std::int32_t>(i);
            // Down the chain that begins on i.
            std::size_t bottom = i;
            while (arcs_[bottom].parent >= 0 && !ends_chain(bottom)) {
                bottom = static_cast<std::size_t>(arcs_[bottom].parent);
            }
            if (children_[i] > 1 && ends_chain(bottom) && low(bottom)) {
                meets_on_[i] = at(meets_on_, arcs_[bottom].parent);
            }
        }
    }

    const std::vector<AirTree::Arc>& arcs_;
    double least_mm3_;
    double level_mm_;
    std::vector<int> children_;  // large ones
    std::vector<double> top_;    // of the chain up from here
    std::vector<std::int32_t> meets_on_;
};

// Pieces of some size that meet another of some size at their saddle, the largest first.
template <class PeakOf>
std::vector<Piece> pieces_of(const std::vector<AirTree::Arc>& arcs, double least_mm3,
                             double level_mm, const PeakOf& peak_of) {
    const Chains chains(arcs, least_mm3, level_mm);
    // The two largest that meet on each arc.
    std::vector<std::pair<double, double>> largest(arcs.size(), {0.0, 0.0});
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        if (chains.is_piece(i)) {
            auto& [first, second] = at(largest, chains.meets_on(i));
            const double volume = arcs[i].volume_mm3;
            second = std::max(second, std::min(first, volume));
            first = std::max(first, volume);
        }
    }
    std::vector<Piece> pieces;
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        if (!chains.is_piece(i)) {
            continue;
        }
        const auto& [first, second] = at(largest, chains.meets_on(i));
        const double volume = arcs[i].volume_mm3;
        const double other = volume == first ? second : first;
        if (other > 0.0) {
            pieces.push_back({peak_of(i), arcs[i].peak_height_mm, arcs[i].saddle_height_mm, volume,
                              std::min(volume, other)});
        }
    }
    std::stable_sort(pieces.begin(), pieces.end(),
                     [](const Piece& p, const Piece& q) { return p.volume_mm3 > q.volume_mm3; });
    return pieces;
}

// The most alike piece that is not taken, or none that is alike enough: differences of volume as a
// share of it, of heights and places as shares of the part, added up.
std::size_t partner_of(const Piece& p, const std::vector<Piece>& candidates,
                       const std::vector<char>& taken, double diagonal_mm) {
    double least = 0.5;  // half the volume, or half the part away: another piece
    std::size_t partner = candidates.size();
    for (std::size_t j = 0; j < candidates.size(); ++j) {
        const Piece& q = candidates[j];
        const double unlike =
            std::abs(p.volume_mm3 - q.volume_mm3) / std::max(p.volume_mm3, q.volume_mm3) +
            (std::abs(p.peak_height_mm - q.peak_height_mm) +
             std::abs(p.saddle_height_mm - q.saddle_height_mm) +
             0.5 * (p.peak_mm - q.peak_mm).norm()) /
                diagonal_mm;
        if (taken[j] == 0 && unlike < least) {
            least = unlike;
            partner = j;
        }
    }
    return partner;
}

// The pieces of one of the two trees.
struct Side {
    std::vector<Piece> pieces;
    bool is_exact = false;
    std::vector<char> taken = std::vector<char>(pieces.size(), 0);
};

void pair_up(const Piece& p, const Piece& q, bool p_is_exact, TreeComparison& result) {
    const Piece& exact = p_is_exact ? p : q;
    const Piece& column = p_is_exact ? q : p;
    result.pairs.push_back({exact.peak_mm, column.peak_mm, exact.volume_mm3, column.volume_mm3});
    result.largest_mm3 = std::max(result.largest_mm3, std::abs(p.volume_mm3 - q.volume_mm3));
}

// A pocket of one tree is looked for among all pieces of the other, since of two that are as large
// either may come out as the pocket.
void match(Side& from, Side& to, double min_volume_mm3, double diagonal_mm,
           TreeComparison& result) {
    for (std::size_t i = 0; i < from.pieces.size(); ++i) {
        const Piece& p = from.pieces[i];
        if (from.taken[i] != 0 || p.volume_mm3 > p.significance_mm3) {
            continue;
        }
        const std::size_t j = partner_of(p, to.pieces, to.taken, diagonal_mm);
        const bool is_alone = j == to.pieces.size();
        if (!is_alone) {
            from.taken[i] = 1;
            to.taken[j] = 1;
        }
        if (p.volume_mm3 < min_volume_mm3) {
            continue;
        }
        if (is_alone) {
            (from.is_exact ? result.only_exact : result.only_columns) += 1;
            result.largest_mm3 = std::max(result.largest_mm3, p.volume_mm3);
        } else {
            pair_up(p, to.pieces[j], from.is_exact, result);
        }
    }
}

}  // namespace

TreeComparison compare(const AirTreeBuilder& solid, const AirTree& exact, const ColumnTree& columns,
                       double min_volume_mm3) {
    // Pieces of half the size are looked at too, so that one just below it can be a partner.
    const double least = 0.5 * min_volume_mm3;
    Side ours{pieces_of(exact.arcs, least, columns.spacing_mm,
                        [&](std::size_t i) -> Vec3 {
                            return at(solid.mesh().vertices, exact.arcs[i].peak_vertex);
                        }),
              true};
    Side theirs{pieces_of(columns.arcs, least, columns.spacing_mm,
                          [&](std::size_t i) -> Vec3 { return columns.peak_mm[i]; })};
    const double diagonal_mm = solid.bounds_mm().diagonal().norm();
    TreeComparison result;
    result.volume_mm3 = columns.volume_mm3 - exact.volume_mm3;
    match(ours, theirs, min_volume_mm3, diagonal_mm, result);
    match(theirs, ours, min_volume_mm3, diagonal_mm, result);
    return result;
}

}  // namespace cavigram
