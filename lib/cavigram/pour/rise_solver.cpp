// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_solver.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "cavigram/core/parallel.h"

namespace cavigram {

namespace {

// Large: handing out a loop costs more than some ten thousand cells take.
constexpr std::size_t kBlock = 65536;
constexpr int kSweeps = 2;
constexpr int kCoarsestSweeps = 12;
// Twice the distance halves a conductance; to a front beyond the last cell the distance grows from
// 1 to 1.5 cells only.
constexpr double kCoarseCouple = 0.5;
constexpr double kCoarseFront = 2.0 / 3.0;

// Sides as in RiseGrid::neighbor.
constexpr std::size_t kAbove = 5;

std::size_t opposite(std::size_t side) {
    return side ^ 1U;
}

// A loop over few is done at once: handing it out would cost more.
template <class Work>
void each(std::size_t count, const RunContext& context, const Work& work) {
    if (count <= kBlock) {
        work(std::size_t{0}, count);
        return;
    }
    for_blocks(count, kBlock, context, [&](const Block& block) { work(block.begin, block.end); });
}

// The same where the work gives back a sum: blocks are added up in their order.
template <class Work>
double sum_each(std::size_t count, const RunContext& context, const Work& work) {
    if (count <= kBlock) {
        return work(std::size_t{0}, count);
    }
    const std::vector<double> parts = map_blocks<double>(
        count, kBlock, context, [&](const Block& block) { return work(block.begin, block.end); });
    return std::accumulate(parts.begin(), parts.end(), 0.0);
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
        const auto corner = static_cast<std::size_t>((places[c][0] & 1) + 2 * (places[c][1] & 1) +
                                                     4 * (places[c][2] & 1));
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
void RiseSolver::prepare_coarse(std::size_t l) {
    Level& coarse = levels_[l];
    const Level& fine = levels_[l - 1];
    const std::size_t n = coarse.color.size();
    each(n, context_, [&](std::size_t begin, std::size_t end) {
        for (std::size_t c = begin; c < end; ++c) {
            coarse.active[c] = 0;
            std::array<double, 6> couple{};
            double front = 0.0;
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
                front += kCoarseFront * std::max(0.0, fine.diagonal[f] - all);
            }
            double sum = front;
            for (std::size_t side = 0; side < 6; ++side) {
                coarse.couple[c][side] = static_cast<float>(couple[side]);
                sum += couple[side];
            }
            coarse.diagonal[c] = sum > 0.0 ? sum : 1.0;
            coarse.inverse[c] = static_cast<float>(1.0 / coarse.diagonal[c]);
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

// One Gauss-Seidel sweep, one color after the other; cells of one color don't touch. From x = 0 the
// first color has nothing to gather.
void RiseSolver::smooth(Level& level, bool red_first, bool from_zero) {
    for (int half = 0; half < 2; ++half) {
        const std::vector<std::int32_t>& cells = level.cells[(half == 0) == red_first ? 0 : 1];
        const bool gather = !(from_zero && half == 0);
        each(cells.size(), context_, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end; ++i) {
                const auto c = static_cast<std::size_t>(cells[i]);
                float sum = level.b[c];
                for (std::size_t side = 0; gather && side < 6; ++side) {
                    sum += level.couple[c][side] *
                           level.x[static_cast<std::size_t>(level.neighbor[c][side])];
                }
                level.x[c] = sum * level.inverse[c];
            }
        });
    }
}

// What is left in the cells of the first color, after a sweep that began with it: nothing is left
// in the others.
void RiseSolver::residual(Level& level) {
    const std::vector<std::int32_t>& cells = level.cells[0];
    each(cells.size(), context_, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(cells[i]);
            float sum = level.b[c] - static_cast<float>(level.diagonal[c]) * level.x[c];
            for (std::size_t side = 0; side < 6; ++side) {
                sum += level.couple[c][side] *
                       level.x[static_cast<std::size_t>(level.neighbor[c][side])];
            }
            level.r[c] = sum;
        }
    });
}

void RiseSolver::restrict_to(Level& coarse, const Level& level) {
    for (const std::vector<std::int32_t>& cells : coarse.cells) {
        each(cells.size(), context_, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end; ++i) {
                const auto c = static_cast<std::size_t>(cells[i]);
                float sum = 0.0F;
                for (const std::int32_t child : coarse.children[c]) {
                    if (child >= 0 && level.active[static_cast<std::size_t>(child)] != 0) {
                        sum += level.r[static_cast<std::size_t>(child)];
                    }
                }
                coarse.b[c] = sum;
            }
        });
    }
}

// x for b, both of the level. Symmetric: the sweeps after go the other way round.
void RiseSolver::cycle(std::size_t l) {
    Level& level = levels_[l];
    const bool coarsest = l + 1 == levels_.size();
    const int sweeps = coarsest ? kCoarsestSweeps : kSweeps;
    for (int s = 0; s < sweeps; ++s) {
        smooth(level, true, s == 0);
    }
    if (!coarsest) {
        residual(level);
        Level& coarse = levels_[l + 1];
        restrict_to(coarse, level);
        cycle(l + 1);
        for (const std::vector<std::int32_t>& cells : level.cells) {
            each(cells.size(), context_, [&](std::size_t begin, std::size_t end) {
                for (std::size_t i = begin; i < end; ++i) {
                    const auto c = static_cast<std::size_t>(cells[i]);
                    level.x[c] += coarse.x[static_cast<std::size_t>(level.parent[c])];
                }
            });
        }
    }
    for (int s = 0; s < sweeps; ++s) {
        smooth(level, false, false);
    }
}

// z for r, and their product.
double RiseSolver::precondition(const Nodes& r, Nodes& z) {
    Level& finest = levels_.front();
    const bool multigrid = preconditioner_ == RisePreconditioner::multigrid;
    if (multigrid) {
        each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end; ++i) {
                const auto c = static_cast<std::size_t>(list_[i]);
                finest.b[c] = static_cast<float>(r_[c]);
            }
        });
        cycle(0);
    }
    double product = sum_each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
        double sum = 0.0;
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(list_[i]);
            z_[c] = multigrid ? static_cast<double>(finest.x[c]) : r_[c] / finest.diagonal[c];
            sum += r_[c] * z_[c];
        }
        return sum;
    });
    for (std::size_t k = 0; k < node_diagonal_.size(); ++k) {
        z[k] = r[k] / node_diagonal_[k];
        product += r[k] * z[k];
    }
    return product;
}

// A p, and their product.
double RiseSolver::multiply(const Nodes& p, Nodes& ap) {
    const Level& finest = levels_.front();
    double product = sum_each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
        double all = 0.0;
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(list_[i]);
            double sum = finest.diagonal[c] * p_[c];
            for (std::size_t side = 0; side < 6; ++side) {
                sum -= static_cast<double>(finest.couple[c][side]) *
                       p_[static_cast<std::size_t>(finest.neighbor[c][side])];
            }
            ap_[c] = sum;
            all += sum * p_[c];
        }
        return all;
    });
    for (std::size_t k = 0; k < node_diagonal_.size(); ++k) {
        ap[k] = node_diagonal_[k] * p[k];
        product += ap[k] * p[k];
    }
    for (const Front& front : fronts_) {
        const auto c = static_cast<std::size_t>(front.cell);
        const auto k = static_cast<std::size_t>(front.node);
        ap_[c] -= front.conductance * p[k];
        ap[k] -= front.conductance * p_[c];
        product -= 2.0 * front.conductance * p[k] * p_[c];
    }
    return product;
}

// x + factor p, r - factor A p, and the square of the latter.
double RiseSolver::step(double factor, std::vector<double>& x) {
    return sum_each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
        double sum = 0.0;
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(list_[i]);
            x[c] += factor * p_[c];
            r_[c] -= factor * ap_[c];
            sum += r_[c] * r_[c];
        }
        return sum;
    });
}

void RiseSolver::direct(double beta) {
    each(list_.size(), context_, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto c = static_cast<std::size_t>(list_[i]);
            p_[c] = z_[c] + beta * p_[c];
        }
    });
}

namespace {

double square(const std::vector<double>& values) {
    return std::inner_product(values.begin(), values.end(), values.begin(), 0.0);
}

}  // namespace

RiseSolved RiseSolver::solve(const std::vector<std::uint8_t>& active, const std::vector<double>& b,
                             double relative, std::vector<double>& x,
                             const std::vector<double>* front_share, AirNodes* air) {
    prepare(active, front_share, air);
    const std::size_t nodes = node_diagonal_.size();
    Nodes r(nodes);
    Nodes z(nodes);
    Nodes p(nodes);
    Nodes ap(nodes);
    double wanted = 0.0;
    double left = 0.0;
    // The residual of what x holds.
    for (const std::int32_t cell : list_) {
        p_[static_cast<std::size_t>(cell)] = x[static_cast<std::size_t>(cell)];
    }
    if (nodes > 0) {
        p = air->x;
    }
    static_cast<void>(multiply(p, ap));
    for (const std::int32_t cell : list_) {
        const auto c = static_cast<std::size_t>(cell);
        r_[c] = b[c] - ap_[c];
        wanted += b[c] * b[c];
        left += r_[c] * r_[c];
    }
    for (std::size_t k = 0; k < nodes; ++k) {
        r[k] = air->right[k] - ap[k];
        wanted += air->right[k] * air->right[k];
        left += r[k] * r[k];
    }
    RiseSolved solved;
    constexpr int kMost = 400;  // what is left then shows in the residual, and in the mass
    double rz = 0.0;
    while (left > relative * relative * wanted && solved.iterations < kMost) {
        context_.check_stop();
        const double next = precondition(r, z);
        const double beta = solved.iterations == 0 ? 0.0 : next / rz;
        direct(beta);
        for (std::size_t k = 0; k < nodes; ++k) {
            p[k] = z[k] + beta * p[k];
        }
        rz = next;
        const double curved = multiply(p, ap);
        if (!(curved > 0.0)) {
            break;  // rounding has the last word
        }
        left = step(rz / curved, x);
        for (std::size_t k = 0; k < nodes; ++k) {
            air->x[k] += rz / curved * p[k];
            r[k] -= rz / curved * ap[k];
        }
        left += square(r);
        ++solved.iterations;
    }
    solved.residual = wanted > 0.0 ? std::sqrt(left / wanted) : 0.0;
    return solved;
}

double RiseSolver::outflow(std::int32_t cell, std::size_t side,
                           const std::vector<double>& x) const {
    const auto c = static_cast<std::size_t>(cell);
    const auto n = static_cast<std::size_t>(levels_.front().neighbor[c][side]);
    return n < whole_.size() ? static_cast<double>(whole_[c][side]) * (x[c] - x[n]) : 0.0;
}

double RiseSolver::inflow(std::int32_t cell, const std::vector<double>& x) const {
    double sum = 0.0;
    for (std::size_t side = 0; side < 6; ++side) {
        sum -= outflow(cell, side, x);
    }
    return sum;
}

}  // namespace cavigram
