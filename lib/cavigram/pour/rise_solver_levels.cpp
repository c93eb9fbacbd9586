// SPDX-License-Identifier: GPL-3.0-or-later
// What RiseSolver sets up: its levels of cells, and the couplings of a set of full cells.
#include <algorithm>
#include <utility>
#include <vector>

#include "cavigram/pour/rise_solver.h"
#include "cavigram/pour/rise_solver_detail.h"

namespace cavigram {

using detail::each;

namespace {

// Twice the distance halves a conductance; to a front beyond the last cell the distance grows from
// 1 to 1.5 cells only.
constexpr double kCoarseCouple = 0.5;
constexpr double kCoarseFront = 2.0 / 3.0;

// Sides as in RiseGrid::neighbor.
constexpr std::size_t kAbove = 5;

std::size_t opposite(std::size_t side) {
    return side ^ 1U;
}

}  // namespace

RiseSolver::RiseSolver(const RiseGrid& grid, const RunContext& context,
                       RisePreconditioner preconditioner)
    : context_(context), preconditioner_(preconditioner) {
    const std::size_t n = grid.size();
    whole_.assign(n, {});
    opening_.assign(n, 0.0);
    closed_.assign(n, 0);
    Level finest;
    finest.neighbor = grid.neighbor;
    finest.color.resize(n);
    for (std::size_t c = 0; c < n; ++c) {
        const CellPlace& p = grid.place[c];
        finest.color[c] = static_cast<std::uint8_t>((p[0] + p[1] + p[2]) & 1);
        for (std::size_t side = 0; side < 6; ++side) {
            std::int32_t& next = finest.neighbor[c][side];
            if (next < 0) {
                next = static_cast<std::int32_t>(n);
            } else {
                const std::size_t from = side % 2 == 1 ? c : static_cast<std::size_t>(next);
                whole_[c][side] = static_cast<float>(grid.conductance_mm3[from][side / 2]);
            }
        }
    }
    levels_.push_back(std::move(finest));
    if (preconditioner == RisePreconditioner::multigrid) {
        coarsen(grid);
    }
    for (Level& level : levels_) {
        const std::size_t size = level.color.size();
        level.couple.assign(size, {});
        level.diagonal.assign(size, 0.0);
        level.inverse.assign(size, 0.0F);
        level.active.assign(size, 0);
        level.x.assign(size + 1, 0.0F);
        level.b.assign(size + 1, 0.0F);
        level.r.assign(size + 1, 0.0F);
    }
    for (std::vector<double>* values : {&r_, &z_, &p_, &ap_}) {
        values->assign(n + 1, 0.0);
    }
}

void RiseSolver::coarsen(const RiseGrid& grid) {
    std::vector<CellPlace> places = grid.place;
    CellPlace count = grid.count;
    while (std::max({count[0], count[1], count[2]}) > 2 && places.size() > 16) {
        join(levels_.back(), places);
        for (std::int32_t& cells : count) {
            cells = (cells + 1) / 2;
        }
    }
}

// Which cells of 2 x 2 x 2 make one: those that are connected within it. What only lies side by
// side, two turns of a coil or two legs, stays apart, or the coarse grid would let foam through the
// wall between. As a cell has one neighbor at most on a side, two that are both beside a third are
// one as well.
UnionFind RiseSolver::joined(const Level& fine, const std::vector<CellPlace>& places) {
    const std::size_t n = places.size();
    UnionFind sets(n);
    const auto within = [&](std::size_t c, std::size_t d, std::size_t side) {
        return places[c][side / 2] / 2 == places[d][side / 2] / 2;
    };
    for (std::size_t c = 0; c < n; ++c) {
        for (std::size_t side = 0; side < 6; ++side) {
            const auto next = static_cast<std::size_t>(fine.neighbor[c][side]);
            if (next < n && within(c, next, side)) {
                sets.join(static_cast<std::int32_t>(c), static_cast<std::int32_t>(next));
            }
        }
    }
    for (bool changed = true; changed;) {
        changed = false;
        std::vector<std::array<std::int32_t, 6>> beside(n, {-1, -1, -1, -1, -1, -1});
        for (std::size_t c = 0; c < n; ++c) {
            const auto own = static_cast<std::size_t>(sets.find(static_cast<std::int32_t>(c)));
            for (std::size_t side = 0; side < 6; ++side) {
                const std::int32_t next = fine.neighbor[c][side];
                if (static_cast<std::size_t>(next) >= n ||
                    within(c, static_cast<std::size_t>(next), side)) {
                    continue;
                }
                if (beside[own][side] < 0) {
                    beside[own][side] = next;
                } else if (sets.join(beside[own][side], next)) {
                    changed = true;
                }
            }
        }
    }
    return sets;
}

// The level above. Parents are numbered in the order of their first child.
void RiseSolver::join(Level& fine, std::vector<CellPlace>& places) {
    const std::size_t n = places.size();
    UnionFind sets = joined(fine, places);
    fine.parent = sets.numbered();
    std::vector<CellPlace> coarse_places;
    Level coarse;
    for (std::size_t c = 0; c < n; ++c) {
        if (static_cast<std::size_t>(fine.parent[c]) == coarse_places.size()) {
            coarse_places.push_back({places[c][0] / 2, places[c][1] / 2, places[c][2] / 2});
        }
    }
    const std::size_t size = coarse_places.size();
    coarse.first_child.assign(size + 1, 0);
    for (const std::int32_t parent : fine.parent) {
        ++coarse.first_child[static_cast<std::size_t>(parent) + 1];
    }
    for (std::size_t c = 0; c < size; ++c) {
        coarse.first_child[c + 1] += coarse.first_child[c];
    }
    const auto none = static_cast<std::int32_t>(size);
    coarse.child.resize(n);
    coarse.neighbor.assign(size, {none, none, none, none, none, none});
    std::vector<std::int32_t> next_child(coarse.first_child.begin(), coarse.first_child.end() - 1);
    for (std::size_t c = 0; c < n; ++c) {
        const auto parent = static_cast<std::size_t>(fine.parent[c]);
        coarse.child[static_cast<std::size_t>(next_child[parent]++)] = static_cast<std::int32_t>(c);
        for (std::size_t side = 0; side < 6; ++side) {
            const auto next = static_cast<std::size_t>(fine.neighbor[c][side]);
            if (next < n && fine.parent[next] != fine.parent[c]) {
                coarse.neighbor[parent][side] = fine.parent[next];
            }
        }
    }
    coarse.color.reserve(size);
    for (const CellPlace& p : coarse_places) {
        coarse.color.push_back(static_cast<std::uint8_t>((p[0] + p[1] + p[2]) & 1));
    }
    levels_.push_back(std::move(coarse));
    places = std::move(coarse_places);
}

void RiseSolver::open(std::int32_t cell, double conductance_mm3) {
    opening_[static_cast<std::size_t>(cell)] += conductance_mm3;
}

void RiseSolver::close(std::int32_t cell) {
    const auto c = static_cast<std::size_t>(cell);
    closed_[c] = 1;
    opening_[c] = 0.0;
    for (std::size_t side = 0; side < 6; ++side) {
        const auto n = static_cast<std::size_t>(levels_.front().neighbor[c][side]);
        whole_[c][side] = 0.0F;
        if (n < whole_.size()) {
            whole_[n][opposite(side)] = 0.0F;
        }
    }
}

void RiseSolver::prepare(const std::vector<std::uint8_t>& active,
                         const std::vector<double>* front_share, const AirNodes* air) {
    Level& finest = levels_.front();
    const std::size_t n = whole_.size();
    list_.clear();
    finest.cells[0].clear();
    finest.cells[1].clear();
    for (std::size_t c = 0; c < n; ++c) {
        finest.active[c] = active[c];
        if (active[c] != 0) {
            list_.push_back(static_cast<std::int32_t>(c));
            finest.cells[finest.color[c]].push_back(static_cast<std::int32_t>(c));
        }
    }
    each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(list_[i]);
            double sum = opening_[c];
            for (std::size_t side = 0; side < 6; ++side) {
                const auto next = static_cast<std::size_t>(finest.neighbor[c][side]);
                const bool front = next < n && active[next] == 0;
                finest.couple[c][side] = front ? 0.0F : whole_[c][side];
                sum += front ? front_conductance(c, side, front_share, air)
                             : static_cast<double>(whole_[c][side]);
            }
            finest.diagonal[c] = sum > 0.0 ? sum : 1.0;
            finest.inverse[c] = static_cast<float>(1.0 / finest.diagonal[c]);
        }
    });
    find_fronts(front_share, air);
    for (std::size_t l = 1; l < levels_.size(); ++l) {
        prepare_coarse(l);
    }
}

// From the middle of a cell to the front in the one beyond.
double RiseSolver::front_conductance(std::size_t c, std::size_t side,
                                     const std::vector<double>* front_share,
                                     const AirNodes* air) const {
    const auto next = static_cast<std::size_t>(levels_.front().neighbor[c][side]);
    const auto whole = static_cast<double>(whole_[c][side]);
    if (air != nullptr && side == kAbove) {
        return whole * air->upward[next];
    }
    return front_share != nullptr ? whole / (0.5 + (*front_share)[next]) : whole;
}

// Faces between foam and air of unknown pressure.
void RiseSolver::find_fronts(const std::vector<double>* front_share, const AirNodes* air) {
    fronts_.clear();
    node_diagonal_.clear();
    if (air == nullptr || air->diagonal.empty()) {
        return;
    }
    node_diagonal_ = air->diagonal;
    const Level& finest = levels_.front();
    for (const std::int32_t cell : list_) {
        const auto c = static_cast<std::size_t>(cell);
        for (std::size_t side = 0; side < 6; ++side) {
            const auto next = static_cast<std::size_t>(finest.neighbor[c][side]);
            if (next >= whole_.size() || finest.active[next] != 0 || air->of_cell[next] < 0) {
                continue;
            }
            const double conductance = front_conductance(c, side, front_share, air);
            fronts_.push_back({cell, air->of_cell[next], conductance});
            node_diagonal_[static_cast<std::size_t>(air->of_cell[next])] += conductance;
        }
    }
}

// A parent is active if a child is. Couplings and fronts of the children, summed and scaled.
void RiseSolver::take_children(Level& coarse, const Level& fine, std::size_t c) {
    coarse.active[c] = 0;
    std::array<double, 6> couple{};
    double sum = 0.0;
    for (std::int32_t i = coarse.first_child[c]; i < coarse.first_child[c + 1]; ++i) {
        const auto f = static_cast<std::size_t>(coarse.child[static_cast<std::size_t>(i)]);
        if (fine.active[f] == 0) {
            continue;
        }
        coarse.active[c] = 1;
        double all = 0.0;
        for (std::size_t side = 0; side < 6; ++side) {
            const double value = fine.couple[f][side];
            const auto next = static_cast<std::size_t>(fine.neighbor[f][side]);
            all += value;
            if (value > 0.0 && fine.parent[next] != static_cast<std::int32_t>(c)) {
                couple[side] += kCoarseCouple * value;
            }
        }
        sum += kCoarseFront * std::max(0.0, fine.diagonal[f] - all);
    }
    for (std::size_t side = 0; side < 6; ++side) {
        coarse.couple[c][side] = static_cast<float>(couple[side]);
        sum += couple[side];
    }
    coarse.diagonal[c] = sum > 0.0 ? sum : 1.0;
    coarse.inverse[c] = static_cast<float>(1.0 / coarse.diagonal[c]);
}

void RiseSolver::prepare_coarse(std::size_t l) {
    Level& coarse = levels_[l];
    const Level& fine = levels_[l - 1];
    const std::size_t n = coarse.color.size();
    each(n, context_, [&](std::size_t begin, std::size_t end) {
        for (std::size_t c = begin; c < end; ++c) {
            take_children(coarse, fine, c);
        }
    });
    coarse.cells[0].clear();
    coarse.cells[1].clear();
    for (std::size_t c = 0; c < n; ++c) {
        if (coarse.active[c] != 0) {
            coarse.cells[coarse.color[c]].push_back(static_cast<std::int32_t>(c));
        } else {
            coarse.x[c] = 0.0F;
        }
    }
}

}  // namespace cavigram
