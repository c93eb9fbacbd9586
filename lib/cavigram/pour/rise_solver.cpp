// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_solver.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "cavigram/pour/rise_solver_detail.h"

namespace cavigram {

using detail::each;
using detail::sum_each;

namespace {

constexpr int kSweeps = 2;
constexpr int kCoarsestSweeps = 12;

}  // namespace

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
                for (std::int32_t k = coarse.first_child[c]; k < coarse.first_child[c + 1]; ++k) {
                    const auto child =
                        static_cast<std::size_t>(coarse.child[static_cast<std::size_t>(k)]);
                    if (level.active[child] != 0) {
                        sum += level.r[child];
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
