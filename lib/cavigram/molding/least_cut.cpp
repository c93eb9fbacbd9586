// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/least_cut.h"

#include <algorithm>
#include <cstddef>
#include <utility>

#include <boost/graph/boykov_kolmogorov_max_flow.hpp>
#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <boost/property_map/property_map.hpp>
#include <boost/range/iterator_range.hpp>

namespace cavigram {

namespace {

using Graph =
    boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, boost::no_property,
                                       boost::no_property, std::uint32_t, std::uint32_t>;
using Arc = boost::graph_traits<Graph>::edge_descriptor;

// Assigning {} would keep the memory.
template <class T>
void let_go(std::vector<T>& values) {
    std::vector<T>().swap(values);
}

// Arcs come in pairs that run against each other.
class Network {
  public:
    Network(const std::vector<SidePrice>& prices, const std::vector<CutLink>& links)
        : things_(prices.size()), source_(prices.size()), sink_(prices.size() + 1) {
        ends_.reserve(2 * (prices.size() + links.size()));
        capacity_.reserve(ends_.capacity());
        // What both sides cost a thing it pays anyway; on the upper side it is tied to the source,
        // and cutting it off there is what the lower side costs it.
        for (std::size_t i = 0; i < prices.size(); ++i) {
            const double more = prices[i].lower - prices[i].upper;
            if (more > 0.0) {
                add_pair(source_, i, more, 0.0);
            } else if (more < 0.0) {
                add_pair(i, sink_, -more, 0.0);
            }
        }
        for (const CutLink& link : links) {
            add_pair(static_cast<std::size_t>(link.a), static_cast<std::size_t>(link.b), link.price,
                     link.price);
        }
    }

    // Once: what is no longer needed goes before the cut takes as much again.
    std::vector<bool> source_side() && {
        // By start, stable: where each arc of the pairs came to lie.
        std::vector<std::uint32_t> first(things_ + 3, 0);
        for (const auto& [from, to] : ends_) {
            ++first[from + 1];
        }
        for (std::size_t v = 0; v + 1 < first.size(); ++v) {
            first[v + 1] += first[v];
        }
        std::vector<std::uint32_t> place(ends_.size());
        std::vector<std::pair<std::uint32_t, std::uint32_t>> sorted(ends_.size());
        std::vector<double> capacity(ends_.size());
        std::vector<std::uint32_t> next(first);
        for (std::size_t i = 0; i < ends_.size(); ++i) {
            place[i] = next[ends_[i].first]++;
            sorted[place[i]] = ends_[i];
            capacity[place[i]] = capacity_[i];
        }
        let_go(capacity_);
        let_go(next);
        const Graph graph(boost::edges_are_sorted, sorted.begin(), sorted.end(),
                          static_cast<std::uint32_t>(things_ + 2));
        let_go(sorted);
        std::vector<Arc> reverse(ends_.size());
        for (std::size_t i = 0; i < ends_.size(); ++i) {
            reverse[place[i]] = Arc(ends_[i ^ 1U].first, place[i ^ 1U]);
        }
        let_go(ends_);
        let_go(place);
        std::vector<double> residual(capacity);
        flow(graph, capacity, residual, reverse);
        return reached(graph, residual);
    }

  private:
    void add_pair(std::size_t a, std::size_t b, double there, double back) {
        ends_.emplace_back(static_cast<std::uint32_t>(a), static_cast<std::uint32_t>(b));
        ends_.emplace_back(static_cast<std::uint32_t>(b), static_cast<std::uint32_t>(a));
        capacity_.push_back(there);
        capacity_.push_back(back);
    }

    void flow(const Graph& graph, std::vector<double>& capacity, std::vector<double>& residual,
              std::vector<Arc>& reverse) const {
        const auto arcs = boost::get(boost::edge_index, graph);
        // The algorithm takes the graph as changeable, and changes nothing in it.
        boost::boykov_kolmogorov_max_flow(
            const_cast<Graph&>(graph),  // NOLINT(cppcoreguidelines-pro-type-const-cast)
            boost::make_iterator_property_map(capacity.begin(), arcs),
            boost::make_iterator_property_map(residual.begin(), arcs),
            boost::make_iterator_property_map(reverse.begin(), arcs),
            boost::get(boost::vertex_index, graph), static_cast<std::uint32_t>(source_),
            static_cast<std::uint32_t>(sink_));
    }

    // What the source still reaches: the least of all least cuts.
    [[nodiscard]] std::vector<bool> reached(const Graph& graph,
                                            const std::vector<double>& residual) const {
        std::vector<bool> seen(things_ + 2);
        std::vector<std::uint32_t> stack = {static_cast<std::uint32_t>(source_)};
        seen[source_] = true;
        while (!stack.empty()) {
            const std::uint32_t v = stack.back();
            stack.pop_back();
            for (const Arc& arc : boost::make_iterator_range(boost::out_edges(v, graph))) {
                const std::uint32_t next = boost::target(arc, graph);
                if (residual[boost::get(boost::edge_index, graph, arc)] > 0.0 && !seen[next]) {
                    seen[next] = true;
                    stack.push_back(next);
                }
            }
        }
        seen.resize(things_);
        return seen;
    }

    std::size_t things_;
    std::size_t source_;
    std::size_t sink_;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> ends_;
    std::vector<double> capacity_;
};

}  // namespace

std::vector<bool> least_cut(const std::vector<SidePrice>& prices,
                            const std::vector<CutLink>& links) {
    return Network(prices, links).source_side();
}

double cut_price(const std::vector<bool>& upper, const std::vector<SidePrice>& prices,
                 const std::vector<CutLink>& links) {
    double sum = 0.0;
    for (std::size_t i = 0; i < prices.size(); ++i) {
        sum += upper[i] ? prices[i].upper : prices[i].lower;
    }
    for (const CutLink& link : links) {
        sum += upper[static_cast<std::size_t>(link.a)] != upper[static_cast<std::size_t>(link.b)]
                   ? link.price
                   : 0.0;
    }
    return sum;
}

}  // namespace cavigram
