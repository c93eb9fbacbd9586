// SPDX-License-Identifier: GPL-3.0-or-later
// What RiseSolver sets up: its levels of cells, and the couplings of a set of full cells.
#include <algorithm>
#include <utility>

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
        join(levels_.back(), places, count);
    }
}

// The level above: cells joined 2 x 2 x 2. Parents are numbered in the order of their first child.
void RiseSolver::join(Level& fine, std::vector<CellPlace>& places, CellPlace& count) {
    CellPlace half{};
    for (std::size_t axis = 0; axis < 3; ++axis) {
        half[axis] = (count[axis] + 1) / 2;
    }
    const auto index = [&half](const CellPlace& p) {
        return static_cast<std::size_t>(p[0]) +
               static_cast<std::size_t>(half[0]) *
                   (static_cast<std::size_t>(p[1]) +
                    static_cast<std::size_t>(half[1]) * static_cast<std::size_t>(p[2]));
    };
    std::vector<std::int32_t> number(static_cast<std::size_t>(half[0]) *
                                         static_cast<std::size_t>(half[1]) *
                                         static_cast<std::size_t>(half[2]),
                                     -1);
    std::vector<CellPlace> coarse_places;
    Level coarse;
    fine.parent.resize(places.size());
    for (std::size_t c = 0; c < places.size(); ++c) {
        const CellPlace up{places[c][0] / 2, places[c][1] / 2, places[c][2] / 2};
        std::int32_t& parent = number[index(up)];
        if (parent < 0) {
            parent = static_cast<std::int32_t>(coarse_places.size());
            coarse_places.push_back(up);
            coarse.children.push_back({-1, -1, -1, -1, -1, -1, -1, -1});
        }
        const auto odd = [&](std::size_t axis) {
            return static_cast<std::size_t>(places[c][axis] & 1);
        };
        const std::size_t corner = odd(0) + 2 * odd(1) + 4 * odd(2);
        coarse.children[static_cast<std::size_t>(parent)][corner] = static_cast<std::int32_t>(c);
        fine.parent[c] = parent;
    }
    const auto none = static_cast<std::int32_t>(coarse_places.size());
    coarse.neighbor.assign(coarse_places.size(), {none, none, none, none, none, none});
    coarse.color.resize(coarse_places.size());
    for (std::size_t c = 0; c < coarse_places.size(); ++c) {
        const CellPlace& p = coarse_places[c];
        coarse.color[c] = static_cast<std::uint8_t>((p[0] + p[1] + p[2]) & 1);
        for (std::size_t side = 0; side < 6; ++side) {
            CellPlace next = p;
            next[side / 2] += side % 2 == 1 ? 1 : -1;
            const std::int32_t at = next[side / 2];
            if (at >= 0 && at < half[side / 2] && number[index(next)] >= 0) {
                coarse.neighbor[c][side] = number[index(next)];
            }
        }
    }
    levels_.push_back(std::move(coarse));
    places = std::move(coarse_places);
    count = half;
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
    for (const std::int32_t child : coarse.children[c]) {
        if (child < 0 || fine.active[static_cast<std::size_t>(child)] == 0) {
            continue;
        }
        const auto f = static_cast<std::size_t>(child);
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
